"""What is written for the people who run the site."""

from logging import LogRecord

FORBIDDEN = 403


def without_trace(record: LogRecord) -> bool:
    """Tell a page that was refused in one line: nothing broke, so there is nothing to trace."""
    if getattr(record, "status_code", None) == FORBIDDEN:
        record.exc_info = record.exc_text = None
    return True
