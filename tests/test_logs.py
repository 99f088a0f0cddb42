"""Log lines: one JSON object each, whatever is in them, and a fault without its words."""

import json
import logging

import pytest

from service.logs import JsonLines, log_settings


def _line(record: logging.LogRecord) -> str:
    return JsonLines().format(record)


@pytest.mark.parametrize("text", ["a\r\nb", "\x1b[2J", "\u2028", '", "level": "info', "\x00\x7f"])
def test_nothing_in_a_line_ends_it_or_moves_a_terminal(text: str) -> None:
    """Control characters are below U+0020 and U+007F (ISO 6429); U+2028 ends lines in some readers."""
    line = _line(logging.LogRecord("washline", logging.INFO, "x.py", 1, text, None, None))
    assert json.loads(line)["message"] == text
    assert line.isascii()
    assert not any(ord(char) < 0x20 for char in line)


def test_a_line_has_the_request_and_nothing_else_of_the_record() -> None:
    record = logging.LogRecord("washline", logging.INFO, "x.py", 1, "request", None, None)
    record.__dict__ |= {"request_id": "r", "key_id": "k", "route": "/a", "status": 200, "ms": 1.5, "price": "19.99"}
    row = json.loads(_line(record))
    assert (row["request_id"], row["key_id"], row["route"], row["status"], row["ms"]) == ("r", "k", "/a", 200, 1.5)
    assert (row["level"], row["logger"]) == ("info", "washline")
    assert "19.99" not in _line(record)


def test_a_fault_is_told_by_its_kind_and_its_places() -> None:
    try:
        raise ValueError("price 19.99")
    except ValueError as fault:
        record = logging.LogRecord(
            "washline", logging.ERROR, "x.py", 1, "unexpected fault", None, (ValueError, fault, fault.__traceback__)
        )
    row = json.loads(_line(record))
    assert row["fault"] == "ValueError"
    assert row["places"][-1].endswith(" test_a_fault_is_told_by_its_kind_and_its_places")
    assert "19.99" not in _line(record)


def test_the_servers_loggers_write_lines_too() -> None:
    found = log_settings("warning")["loggers"]
    assert set(found) == {"washline", "uvicorn", "uvicorn.error"}
    assert all(one["handlers"] == ["lines"] and one["level"] == "WARNING" for one in found.values())
