"""Pages for paper: text, numbers and figures in, PDF out."""
