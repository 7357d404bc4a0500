"""Trials in the terms of the open MIAPPE check-list, version 1.1."""
