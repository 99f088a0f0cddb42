"""A stream is cut into the same lines wherever its pieces are cut. Expected lines are written by hand."""

import pytest

from service.bulk.lines import Line, Lines

STREAM = b'{"a":1}\n\r\n  \n{"b":"\xc3\xa9"}\r\n{"c":3}'
LINES = [Line(1, b'{"a":1}'), Line(2, b'{"b":"\xc3\xa9"}\r'), Line(3, b'{"c":3}')]


def cut(stream: bytes, pieces: list[bytes], limit: int = 100) -> list[Line]:
    """The lines of pieces that make up a stream."""
    assert b"".join(pieces) == stream
    lines = Lines(limit)
    return [line for piece in pieces for line in lines.fed(piece)] + list(lines.rest())


@pytest.mark.parametrize("place", range(len(STREAM) + 1))
def test_a_cut_at_any_byte_changes_nothing(place: int) -> None:
    assert cut(STREAM, [STREAM[:place], STREAM[place:]]) == LINES


def test_byte_by_byte_is_the_same() -> None:
    assert cut(STREAM, [STREAM[place : place + 1] for place in range(len(STREAM))]) == LINES


@pytest.mark.parametrize("size", [1, 3, 7, 50])
def test_a_line_over_the_limit_is_dropped_to_its_end_and_counted(size: int) -> None:
    stream = b"12345678\n123456789\n1\n123456789"
    pieces = [stream[place : place + size] for place in range(0, len(stream), size)]
    assert cut(stream, pieces, 8) == [Line(1, b"12345678"), Line(2, None), Line(3, b"1"), Line(4, None)]


def test_what_is_kept_of_a_line_without_end_is_bounded() -> None:
    lines = Lines(1000)
    for _ in range(100):
        assert list(lines.fed(b"x" * 600)) == []
        assert len(lines._kept) <= 1000
    assert list(lines.fed(b"\n1\n")) == [Line(1, None), Line(2, b"1")]


def test_nothing_is_no_line() -> None:
    assert cut(b"", [b""]) == []
    assert cut(b"\n\n", [b"\n\n"]) == []
