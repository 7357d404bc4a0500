"""The rooms of the API: parse, call a service, answer. The addresses are in README.md."""
