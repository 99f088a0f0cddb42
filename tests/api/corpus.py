"""Raw bodies that no service may stumble over, made the same way each time.

Three kinds: ``refused`` may only be answered with the status that is stated, ``odd`` with 200 or 422,
``taken`` with 200. Each plants marks that no answer may repeat. The kinds of fault are those of JSON as
RFC 8259 has it (what is no JSON at all), of Unicode (UAX 9 and 31, UTS 39: what looks like something else),
and of IEEE 754 (what is no finite number).
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from tests.api.bodies import full, raw, small
from tests.api.places import fields, objects, replaced

MARK = "CANARYQ7"
"""Stands in texts and keys."""

DIGITS = "918273645"
"""Stands in numbers."""

MIB = 1024 * 1024

FREE_TEXT = ("name", "supplier", "code", "equipment", "external_id", "document", "issuer", "reviewed_by")
"""Fields that take any text."""

_SEAT = "\x00SEAT\x00"
"""Holds the place of a value that Python's JSON writer cannot write."""


@dataclass(frozen=True)
class Case:
    """One body with the statuses that may answer it."""

    name: str
    raw: bytes
    statuses: tuple[int, ...]


@cache
def refused() -> list[Case]:
    """Bodies that have to be refused."""
    return [
        *_not_json(),
        *_cut_short(),
        *_nested(),
        *_huge(),
        *_wrong_shape(),
        *_wrong_everywhere(),
        *_strange_fields(),
    ]


@cache
def odd() -> list[Case]:
    """Bodies whose strange figure some fields may take: what answers is finite, or a fault with its field."""
    figures = (
        "5e-324",
        "-0",
        "-0.0",
        "0",
        "1e-7",
        "1.7976931348623157e308",
        '"0"',
        '"0.000000000001"',
        '"-0"',
        '"1e2"',
    )
    cases = []
    for place in fields(full()):
        if isinstance(place.value, bool) or not _is_figure(place.value):
            continue
        cases += [
            Case(f"{figure} at {place.pointer}", _with_raw(place.pointer, figure), (200, 422)) for figure in figures
        ]
    return cases


@cache
def taken() -> list[Case]:
    """Bodies at the limits, on the side that is allowed, and texts that are plain in their own language."""
    names = (
        "Caf\u00e9",
        "Cafe\u0301",
        "Mañana 🍸",
        "\u0130stanbul \u0131\u015f\u0131\u011f\u0131",
        "港の霧",
        "x" * 200,
        "😀" * 200,
        "Ωμέγα",
    )
    return [
        Case("60 lines", raw(_lines(60)), (200,)),
        Case("500 preparations", raw(_preparations(500)), (200,)),
        Case("ids of 64 characters", raw(replaced(small(), "/drink/id", "a" * 64)), (200,)),
        Case("1 MiB", raw(small()).ljust(MIB), (200,)),
        Case("16 levels of parts", raw(chain(16)), (200,)),
        Case("white space around", b" \r\n\t" + raw(small()) + b"\n ", (200,)),
        Case("all ASCII escaped", raw(replaced(small(), "/drink/name", "SEAT")).replace(b"SEAT", b"\\u0041"), (200,)),
        *(Case(f"name {name!r}", raw(replaced(small(), "/drink/name", name)), (200,)) for name in names),
    ]


def chain(levels: int) -> dict[str, Any]:
    """A drink over so many levels of parts."""
    body = small()
    body["drink"]["lines"][0]["item"] = "level-1"
    body["preparations"] = [
        {
            "id": f"level-{level}",
            "name": "Level",
            "lines": [{"item": "water" if level == levels else f"level-{level + 1}", "amount": "100 ml"}],
        }
        for level in range(1, levels + 1)
    ]
    return body


def _lines(count: int) -> dict[str, Any]:
    return replaced(small(), "/drink/lines", [{"item": "water", "amount": "1 ml"}] * count)


def _parts(item: str, amount: str) -> dict[str, Any]:
    """400 parts of 40 lines, all of them asked for."""
    parts = [
        {
            "id": f"p-{part}",
            "name": "P",
            "lines": [{"item": item.format(part, line), "amount": amount.format(part, line)} for line in range(40)],
        }
        for part in range(400)
    ]
    lines = [
        {"item": f"p-{20 * n}", "amount": "1 ml", "alternatives": [f"p-{20 * n + k}" for k in range(1, 20)]}
        for n in range(20)
    ]
    return replaced(small(), "/drink/lines", lines) | {"preparations": parts}


def _offer(number: int) -> dict[str, Any]:
    price = {"amount": "1", "currency": "EUR"}
    return {
        "id": f"o-{number}",
        "item": "water",
        "supplier": "S",
        "pack": {"size": f"1 furlng{number}"},
        "price": price,
    }


def _preparations(count: int) -> dict[str, Any]:
    line = {"item": "water", "amount": "100 ml"}
    return small() | {"preparations": [{"id": f"p-{n}", "name": "P", "lines": [line]} for n in range(count)]}


def _is_figure(value: Any) -> bool:
    if isinstance(value, str):
        return value.replace(".", "", 1).isdigit()
    return isinstance(value, int | float)


@cache
def _around(pointer: str) -> tuple[bytes, bytes]:
    """What stands before and after the value at a pointer of the full body."""
    before, _, after = raw(replaced(full(), pointer, _SEAT)).partition(json.dumps(_SEAT).encode())
    return before, after


def _with_raw(pointer: str, text: str) -> bytes:
    """The full body with a piece of raw JSON at a pointer."""
    before, after = _around(pointer)
    return before + text.encode() + after


def _not_json() -> Iterator[Case]:
    good = raw(small())
    named = raw(replaced(small(), "/drink/name", _SEAT))

    def with_name(content: bytes) -> bytes:
        return named.replace(json.dumps(_SEAT).encode(), content)

    bodies = {
        "empty": b"",
        "blank": b" \n\t ",
        "byte order mark": b"\xef\xbb\xbf" + good,
        "UTF-16 LE": good.decode().encode("utf-16-le"),
        "UTF-16 BE": good.decode().encode("utf-16-be"),
        "UTF-16 with mark": good.decode().encode("utf-16"),
        "UTF-32": good.decode().encode("utf-32"),
        "Latin-1": with_name('"é"'.encode("latin-1")),
        "lone continuation byte": with_name(b'"\x80"'),
        "overlong slash": with_name(b'"\xc0\xaf"'),
        "overlong NUL": with_name(b'"\xc0\x80"'),
        "encoded surrogate": with_name(b'"\xed\xa0\x80"'),
        "beyond Unicode": with_name(b'"\xf4\x90\x80\x80"'),
        "cut character": with_name(b'"\xf0\x9f\x8d"'),
        "byte 0xff": good + b"\xff",
        "raw NUL in text": with_name(b'"\x00"'),
        "raw line feed in text": with_name(b'"a\nb"'),
        "raw tab in text": with_name(b'"a\tb"'),
        "single quotes": good.replace(b'"', b"'"),
        "comment": good + b"// " + MARK.encode(),
        "comment first": b"/* " + MARK.encode() + b" */" + good,
        "hash comment": b"# " + MARK.encode() + b"\n" + good,
        "trailing comma": good[:-1] + b",}",
        "leading comma": b"{," + good[1:],
        "unquoted key": good.replace(b'"drink"', b"drink"),
        "bad escape": with_name(b'"\\x41"'),
        "short escape": with_name(b'"\\u12"'),
        "True": with_name(b"True"),
        "None": with_name(b"None"),
        "undefined": with_name(b"undefined"),
        "hexadecimal": with_name(b"0x10"),
        "leading zero": with_name(b"007"),
        "leading plus": with_name(b"+1"),
        "bare point": with_name(b".5"),
        "point without digits": with_name(b"1."),
        "exponent without digits": with_name(b"1e"),
        "underscore": with_name(b"1_000"),
        "Arabic digits": with_name("١٢".encode()),
        "full-width digits": with_name("１２".encode()),
        "two documents": good + good,
        "two lines": good + b"\n" + good,
        "form": b"drink=" + MARK.encode(),
        "XML": b"<drink>" + MARK.encode() + b"</drink>",
        "YAML": b"drink:\n  name: " + MARK.encode(),
        "gzip": b"\x1f\x8b\x08\x00" + MARK.encode(),
        "no-break space": good + "\u00a0".encode(),
        "vertical tab": good + b"\x0b",
        "NUL after": good + b"\x00",
        "NUL before": b"\x00" + good,
        "record separator": b"\x1e" + good,
    }
    yield from (Case(name, body, (400,)) for name, body in bodies.items())
    for word in ("NaN", "Infinity", "-Infinity", "nan", "inf", "-inf", "NAN", "1e400f"):
        yield Case(f"{word} as a name", with_name(word.encode()), (400,))
    for tail in ("x", "}", "]", ",", "{}", "[]", "null", '"', "\\", MARK):
        yield Case(f"trailing {tail}", good + tail.encode(), (400,))
    twice = f'"{MARK}":1,"{MARK}":2'.encode()
    for place in objects(full()):
        yield Case(f"a key twice in {place.pointer or 'the body'}", _with_more(place.pointer, twice), (400,))
    yield Case("a key twice, once escaped", b'{"drink":1,"\\u0064rink":2}', (400,))
    yield Case("the drink twice", good[:-1] + b"," + good[1:], (400,))


def _with_more(pointer: str, members: bytes) -> bytes:
    """The full body with more members in front of those of one object."""
    before, after = _around(pointer) if pointer else (b"", b"")
    value = full()
    for step in pointer.split("/")[1:]:
        value = value[int(step)] if isinstance(value, list) else value[step]
    return before + b"{" + members + b"," + raw(value)[1:] + after


def _cut_short() -> Iterator[Case]:
    whole = raw(full())
    for offset in range(1, len(whole), 37):
        yield Case(f"cut after {offset} bytes", whole[:offset], (400,))


def _nested() -> Iterator[Case]:
    # The body itself is the first level.
    yield Case("64 levels of arrays", _deep(63, b"[", b"]"), (422,))
    for levels in (65, 100, 500, 1000, 10_000, 100_000, 500_000, 1_000_000):
        size = levels - 1
        statuses = (400,) if 2 * size + 20 <= MIB else (413,)
        yield Case(f"{levels} levels of arrays", _deep(size, b"[", b"]"), statuses)
        yield Case(f"{levels} arrays left open", b"[" * levels, (400,))
        if levels <= 100_000:
            yield Case(f"{levels} levels of objects", _deep(size, b'{"a":', b"}", b"1"), (400,))
            yield Case(f"{levels} levels of both", _deep(size // 2, b'[{"a":', b"}]", b"1"), (400, 422))
    yield Case(
        "65 levels beside a field that is right",
        raw(small())[:-1] + b',"offers":' + b"[" * 64 + b"]" * 64 + b"}",
        (400,),
    )


def _deep(levels: int, left: bytes, right: bytes, middle: bytes = b"") -> bytes:
    return b'{"drink":' + left * levels + middle + right * levels + b"}"


def _huge() -> Iterator[Case]:
    begun = raw(small())[:-1]

    def many(text: str, size: int = MIB - 2000) -> bytes:
        count = size // (len(text) + 1)
        return ",".join([text] * count).encode()

    def keys(size: int = MIB - 2000) -> bytes:
        return ",".join(f'"k{n}":1' for n in range(size // 11)).encode()

    too_much = {
        "1 MiB and a byte": raw(small()).ljust(MIB + 1),
        "a million keys": b"{" + ",".join(f'"{n}":1' for n in range(1_000_000)).encode() + b"}",
        "2 MiB of blanks": b" " * (2 * MIB),
        "2 MiB of text": b'{"drink":"' + MARK.encode() * (MIB // 4) + b'"}',
    }
    yield from (Case(name, body, (413,)) for name, body in too_much.items())
    bodies = {
        "a megabyte of keys": b"{" + keys() + b"}",
        "1,001 keys": b"{" + ",".join(f'"k{n}":1' for n in range(1001)).encode() + b"}",
        "keys of a drink": b'{"drink":{' + keys() + b"}}",
        "keys of pieces": begun + b',"ingredients":[{"id":"a","name":"b","pieces":{' + keys() + b"}}]}",
        "numbers as lines": b'{"drink":{"id":"a","name":"b","lines":[' + many("1") + b"]}}",
        "numbers as ingredients": begun + b',"ingredients":[' + many("1") + b"]}",
        "empty ingredients": begun + b',"ingredients":[' + many("{}") + b"]}",
        "empty offers": begun + b',"offers":[' + many("{}") + b"]}",
        "empty preparations": begun + b',"preparations":[' + many("{}") + b"]}",
        "strange fields": begun
        + b',"ingredients":['
        + many("{" + ",".join(f'"k{n}":1' for n in range(99)) + "}")
        + b"]}",
        "strange processes": begun + b',"ingredients":[' + many('{"process":[' + ",".join("1" * 500) + "]}") + b"]}",
        "empty lines of parts": begun
        + b',"preparations":['
        + many('{"lines":[' + ",".join(["{}"] * 60) + "]}", 100_000)
        + b"]}",
        "strange pieces": begun
        + b',"ingredients":[{"id":"a","name":"b","pieces":{'
        + ",".join(f'"p{n}":{{' + ",".join(f'"k{k}":1' for k in range(90)) + "}" for n in range(900)).encode()
        + b"}}]}",
        "jurisdictions": begun + b',"jurisdictions":[' + many('"EU"') + b"]}",
        "include": begun + b',"include":[' + many('"cost"') + b"]}",
        "alternatives": b'{"drink":{"id":"a","name":"b","lines":[{"item":"water","amount":"1 ml","alternatives":['
        + many('"water"')
        + b"]}]}}",
        "a long name": b'{"drink":{"id":"a","name":"' + MARK.encode() * 100_000 + b'","lines":[]}}',
        "a long amount": raw(replaced(small(), "/drink/lines/0/amount", "1" * 500_000 + " ml")),
        "many blanks in an amount": raw(replaced(small(), "/drink/lines/0/amount", "1" + " " * 100_000 + "ml")),
        "a long id": raw(replaced(small(), "/drink/id", "a" * 100_000)),
        "a long date": raw(small() | {"as_of": "1" * 100_000}),
        "a long integer": raw(small()).replace(b'"10 ml"', DIGITS.encode() * 100_000),
        "a long fraction": raw(small()).replace(b'"10 ml"', b"0." + DIGITS.encode() * 100_000),
        "a long exponent": raw(small()).replace(b'"10 ml"', b"1e" + DIGITS.encode() * 1000),
        "escapes": b'{"drink":"' + b"\\u0041" * 170_000 + b'"}',
        "16,000 unknown ids": raw(_parts("nobody-has-{0}-{1}", "1 ml")),
        "16,000 unknown units": raw(_parts("water", "1 furlng{0}x{1}")),
        "16,000 amounts of nothing": raw(_parts("water", "0 ml")),
        "2,000 offers of unknown units": raw(small() | {"offers": [_offer(number) for number in range(2000)]}),
        "61 lines": raw(_lines(61)),
        "501 preparations": raw(_preparations(501)),
        "an id of 65 characters": raw(replaced(small(), "/drink/id", "a" * 65)),
        "17 levels of parts": raw(chain(17)),
        "a name of 201 characters": raw(replaced(small(), "/drink/name", "x" * 201)),
        "61 lines of a part": raw(
            replaced(chain(1), "/preparations/0/lines", [{"item": "water", "amount": "1 ml"}] * 61)
        ),
    }
    yield from (Case(name, body, (422,)) for name, body in bodies.items())


def _wrong_shape() -> Iterator[Case]:
    tops = (
        "null",
        "true",
        "false",
        "0",
        "-1",
        "1.5",
        "1e400",
        '""',
        f'"{MARK}"',
        "[]",
        "[[]]",
        "[null]",
        "[{}]",
        "{}",
        '{"":1}',
    )
    yield from (Case(f"the body is {top}", top.encode(), (422,)) for top in tops)
    good = raw(small()).decode()
    yield Case("the drink as text", json.dumps({"drink": good}).encode(), (422,))
    yield Case("the body as text", json.dumps(good).encode(), (422,))
    yield Case("the body in an array", f"[{good}]".encode(), (422,))
    yield Case("the drink without its holder", json.dumps(small()["drink"]).encode(), (422,))
    for key in (
        "Drink",
        "DRINK",
        "drınk",
        "ԁrink",
        "dr\u200bink",
        "drink ",
        " drink",
        "drink\u0000",
        "dŕink",
        "ｄｒｉｎｋ",
    ):
        yield Case(f"key {key!r}", good.replace('"drink"', json.dumps(key)).encode(), (422,))


def _wrong_everywhere() -> Iterator[Case]:
    """Every field with values that none of them takes."""
    everywhere = {
        "an object": f'{{"{MARK}":"{MARK}"}}',
        "an array": f'["{MARK}"]',
        "an array in an array": "[[]]",
        "over the largest float": f"{DIGITS}e400",
        "under the smallest": f"-{DIGITS}e400",
        "a huge float": f"{DIGITS}e290",
        "5,000 digits": DIGITS * 556,
        "4,000 digits": DIGITS * 440,
        "a number of 16 digits": DIGITS + "0000001",
        "NUL": f'"{MARK}\\u0000"',
        "lone surrogate": f'"{MARK}\\ud800"',
        "surrogates reversed": f'"{MARK}\\udc00\\ud800"',
        "right to left override": f'"{MARK}\u202e"',
        "zero width joiner": f'"{MARK}\u200d"',
        "byte order mark": f'"\ufeff{MARK}"',
        "escape": f'"{MARK}\\u001b[2J"',
        "line feed": f'"{MARK}\\n"',
        "empty text": '""',
        "blank text": '"   "',
        "too long": f'"{MARK * 30}"',
    }
    not_text = {
        "a word": f'"{MARK}"',
        "a homoglyph": f'"{MARK}а"',
        "underscores": f'"{DIGITS}_000"',
        "Arabic digits": '"٩١٨٢٧"',
        "full-width digits": '"９１８２７"',
        "exponent": f'"{DIGITS}e9"',
        "hexadecimal": f'"0x{DIGITS}"',
        "NaN as text": f'"NaN{MARK}"',
        "decimal comma": f'"{DIGITS},5"',
        "blank before": f'" {DIGITS}"',
        "minus": f'"-{DIGITS}"',
        "minus sign": f'"\u2212{DIGITS}"',
    }
    for place in fields(full()):
        values = dict(everywhere)
        field = place.pointer.rsplit("/", 1)[1]
        if field not in FREE_TEXT:
            values |= not_text
        if field == "id":
            values = {name: value for name, value in values.items() if name not in ("exponent", "hexadecimal")}
        if not isinstance(place.value, bool):
            values["true"] = "true"
        for name, value in values.items():
            yield Case(f"{name} at {place.pointer}", _with_raw(place.pointer, value), (422,))
        if _is_figure(place.value) and not isinstance(place.value, str):
            for word in ("NaN", "Infinity", "-Infinity"):
                yield Case(f"{word} at {place.pointer}", _with_raw(place.pointer, word), (400,))


def _strange_fields() -> Iterator[Case]:
    keys = {
        "a field": f'"{MARK}":1',
        "a field of text": f'"{MARK}":"{MARK}"',
        "a field that is null": f'"{MARK}":null',
        "a surrogate as key": '"\\ud800":1',
        "NUL as key": '"\\u0000":1',
        "an empty key": '"":1',
        "a proto": '"__proto__":{"a":1}',
        "slashes": f'"a/b~{MARK}":1',
    }
    for place in objects(full()):
        for name, member in keys.items():
            yield Case(f"{name} in {place.pointer or 'the body'}", _with_more(place.pointer, member.encode()), (422,))
