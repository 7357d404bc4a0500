"""The use cases, each a function that a reader can follow from top to bottom."""
