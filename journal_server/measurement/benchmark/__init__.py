"""Every claim about the measuring, repeated by one command: ``python -m journal_server.measurement.benchmark``."""
