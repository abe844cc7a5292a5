"""The Flask application: forms, units, the HTTP API, the log and its file, who may connect, the command line."""

__version__ = "0.1.0"
