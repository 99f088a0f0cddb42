"""The log: one JSON object a line on standard error, of this service and of the server alike.

A line says what happened to which request and for which key; it has no bodies, no addresses with their queries, no
prices and no secrets. Of an unexpected fault it has the kind and the places it passed, not its words, which may repeat
what a caller sent or what is stored.
"""

import json
import logging
import traceback
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

_FIELDS: Final = ("request_id", "key_id", "route", "method", "status", "ms")


class JsonLines(logging.Formatter):
    """A record as JSON: nothing in it can end a line or move a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        row: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
        }
        row |= {name: getattr(record, name) for name in _FIELDS if hasattr(record, name)}
        fault = record.exc_info[1] if record.exc_info else None
        if fault is not None:
            row["fault"] = type(fault).__name__
            row["places"] = [
                f"{Path(frame.filename).name}:{frame.lineno} {frame.name}"
                for frame in traceback.extract_tb(fault.__traceback__)
            ]
        return json.dumps(row, ensure_ascii=True, default=str)


def log_settings(level: str) -> dict[str, Any]:
    """For ``logging.config.dictConfig``: this service's and the server's loggers, each as JSON lines."""
    logger = {"handlers": ["lines"], "level": level.upper(), "propagate": False}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"lines": {"()": JsonLines}},
        "handlers": {"lines": {"class": "logging.StreamHandler", "formatter": "lines", "stream": "ext://sys.stderr"}},
        "loggers": dict.fromkeys(("washline", "uvicorn", "uvicorn.error"), logger),
        "root": {"handlers": ["lines"], "level": "WARNING"},
    }
