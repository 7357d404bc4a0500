"""What a person takes out of the journal for other programs."""
