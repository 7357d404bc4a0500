"""Training of the segmentation; needs the ``training`` extra, and nothing else in the project imports it."""
