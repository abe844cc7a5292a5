"""The one error of the log."""


class LogError(Exception):
    """The log cannot be used; the message is one or more plain sentences for the user."""
