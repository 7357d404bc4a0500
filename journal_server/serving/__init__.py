"""Listening: which addresses the machine has, the server that answers there, and what a phone is shown first."""
