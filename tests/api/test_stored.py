"""The stored resources: every operation of every kind, on each backend. Conditions by RFC 9110, patches by RFC 7396."""

import itertools
import json
from collections.abc import Iterator
from typing import Any

import pytest

from service.api.writes import merged
from service.store.kinds import KINDS
from tests.api import corpus
from tests.api.conftest import Client

Body = dict[str, Any]
_NUMBER = itertools.count(1)


def _new(kind: str, entry_id: str | None = None) -> Body:
    """A body of a kind that can be written beside the bar."""
    one = entry_id or f"new-{next(_NUMBER)}"
    body: Body = {"id": one, "name": f"Name of {one}"}
    lines = [{"item": "water", "amount": "10 ml"}]
    more: dict[str, Body] = {
        "ingredients": {"kind": "juice"},
        "preparations": {"lines": lines},
        "drinks": {"lines": lines},
        "offers": {"item": "water", "supplier": "quay", "pack": {"size": "1 l"},
                   "price": {"amount": "10.00", "currency": "EUR"}},
        "menus": {"entries": [{"drink": "quay-sour", "menu_price": "12.00"}]},
        "venues": {"jurisdictions": ["EU"]},
        "suppliers": {},
    }  # fmt: skip
    return {**body, **more[kind]}


def _made(bar: Client, kind: str, entry_id: str | None = None) -> tuple[Body, str]:
    body = _new(kind, entry_id)
    answer = bar.ask("POST", f"/v1/{kind}", json=body)
    assert answer.status_code == 201, answer.text
    return body, answer.headers["etag"]


def _codes(answer: Any) -> list[tuple[str, str]]:
    return [(fault["code"], fault["pointer"]) for fault in answer.json().get("errors", ())]


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_is_made_read_replaced_patched_and_deleted(bar: Client, kind: str) -> None:
    body = _new(kind)
    made = bar.ask("POST", f"/v1/{kind}", json=body)
    assert (made.status_code, made.json()) == (201, body)
    here = made.headers["location"]
    assert here == f"/v1/{kind}/{body['id']}"
    read = bar.get(here)
    assert (read.status_code, read.json(), read.headers["etag"]) == (200, body, made.headers["etag"])
    assert (read.headers["cache-control"], read.headers["vary"]) == ("no-store", "Authorization")
    assert bar.ask("POST", f"/v1/{kind}", json=body).json()["type"] == "urn:washline:problem:exists"

    body["name"] = f"Another {body['id']}"
    replaced = bar.ask("PUT", here, json=body, headers={"If-Match": read.headers["etag"]})
    assert (replaced.status_code, replaced.json()) == (200, body)
    assert "location" not in replaced.headers
    left_out = bar.ask("PUT", here, json={k: v for k, v in body.items() if k != "id"}, headers={"If-Match": "*"})
    assert (left_out.status_code, left_out.json(), left_out.headers["etag"]) == (200, body, replaced.headers["etag"])

    patched = bar.ask("PATCH", here, json={"name": f"Third {body['id']}"}, headers={"If-Match": "*"})
    assert (patched.status_code, patched.json()) == (200, {**body, "name": f"Third {body['id']}"})
    merge = {"If-Match": patched.headers["etag"], "Content-Type": "application/merge-patch+json"}
    tagged = bar.ask("PATCH", here, content=json.dumps({"external_ids": [f"SKU:{body['id']}"]}), headers=merge)
    assert (tagged.status_code, tagged.json()["external_ids"]) == (200, [f"SKU:{body['id']}"])
    untagged = bar.ask("PATCH", here, json={"external_ids": None}, headers={"If-Match": "*"})
    assert untagged.json() == patched.json()

    gone = bar.ask("DELETE", here, headers={"If-Match": untagged.headers["etag"]})
    assert (gone.status_code, gone.content) == (204, b"")
    nothing = bar.get(here)
    assert nothing.status_code == 404
    for method, suffix in (("PATCH", ""), ("DELETE", ""), ("POST", "/archive"), ("POST", "/reinstate"),
                           ("GET", "/revisions")):  # fmt: skip
        sent: Body = {"json": {}} if method == "PATCH" else {}
        again = bar.ask(method, here + suffix, headers={"If-Match": "*"}, **sent)
        assert (again.status_code, again.content) == (404, nothing.content)


@pytest.mark.parametrize("kind", KINDS)
def test_put_creates_with_the_clients_own_id(bar: Client, kind: str) -> None:
    body = _new(kind)
    here = f"/v1/{kind}/{body['id']}"
    assert bar.ask("PUT", here, json=body, headers={"If-Match": '"x"'}).status_code == 412
    made = bar.ask("PUT", here, json=body, headers={"If-None-Match": "*"})
    assert (made.status_code, made.headers["location"]) == (201, here)
    assert bar.ask("PUT", here, json=body, headers={"If-None-Match": "*"}).status_code == 412
    assert bar.ask("PUT", here, json=body).status_code == 428
    other = bar.ask("PUT", here, json={**body, "id": "another"}, headers={"If-Match": "*"})
    assert _codes(other) == [("id_differs", "/id")]


@pytest.mark.parametrize("kind", KINDS)
def test_a_write_names_what_it_replaces(bar: Client, kind: str) -> None:
    body, tag = _made(bar, kind)
    here = f"/v1/{kind}/{body['id']}"
    for method, sent in (("PUT", {"json": body}), ("PATCH", {"json": {}}), ("DELETE", {})):
        for headers, status in (
            ({}, 428), ({"If-Match": '"0"'}, 412), ({"If-Match": f"W/{tag}"}, 412), ({"If-Match": "x"}, 412),
            ({"If-None-Match": '"0"'}, 428), ({"If-None-Match": "*"}, 412), ({"If-Match": ""}, 412),
        ):  # fmt: skip
            answer = bar.ask(method, here, headers=headers, **sent)
            assert answer.status_code == status, (method, headers)
            assert answer.headers["content-type"] == "application/problem+json"
    assert bar.ask("POST", here + "/archive", headers={"If-Match": '"0"'}).status_code == 412
    assert bar.get(here).headers["etag"] == tag
    assert bar.ask("PUT", here, json=body, headers={"If-Match": f'"0", {tag}'}).status_code == 200


@pytest.mark.parametrize("kind", KINDS)
def test_what_the_caller_has_is_not_sent_again(bar: Client, kind: str) -> None:
    body, tag = _made(bar, kind)
    for address in (f"/v1/{kind}/{body['id']}", f"/v1/{kind}"):
        tag = bar.get(address).headers["etag"]
        for sent, status in ((tag, 304), (f"W/{tag}", 304), (f'"0", {tag}', 304), ("*", 304), ('"0"', 200), ("x", 200)):
            answer = bar.get(address, headers={"If-None-Match": sent})
            assert (answer.status_code, answer.headers["etag"]) == (status, tag)
            assert (answer.content == b"") is (status == 304)
        head = bar.ask("HEAD", address)
        assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", tag)


@pytest.mark.parametrize("kind", KINDS)
def test_archived_entries_leave_the_lists_and_come_back(bar: Client, kind: str) -> None:
    body, _ = _made(bar, kind)
    here = f"/v1/{kind}/{body['id']}"

    def listed(archived: str) -> bool:
        page = bar.get(f"/v1/{kind}?page_size=100&archived={archived}").json()["entries"]
        return body["id"] in [entry["id"] for entry in page]

    assert bar.ask("POST", here + "/archive").json() == body
    assert [listed(word) for word in ("exclude", "include", "only")] == [False, True, True]
    assert bar.get(here).status_code == 200
    assert bar.ask("POST", here + "/archive").status_code == 200  # asked again, nothing changes
    assert bar.ask("POST", here + "/reinstate").json() == body
    assert [listed(word) for word in ("exclude", "include", "only")] == [True, True, False]
    states = [row["state"] for row in bar.get(here + "/revisions").json()["revisions"]]
    assert states == ["live", "archived", "live"]


@pytest.mark.parametrize("kind", KINDS)
def test_lists_come_page_by_page(bar: Client, kind: str) -> None:
    ids = sorted(_made(bar, kind)[0]["id"] for _ in range(5))
    seen: list[str] = []
    address = f"/v1/{kind}?page_size=2"
    while address:
        answer = bar.get(address)
        page = answer.json()
        assert len(page["entries"]) <= 2
        for entry in page["entries"]:
            alone = bar.get(f"/v1/{kind}/{entry['id']}")
            assert (entry["body"], entry["etag"], entry["state"]) == (alone.json(), alone.headers["etag"], "live")
        seen += [entry["id"] for entry in page["entries"]]
        link = answer.headers.get("link", "")
        assert (page["next_page_token"] is None) is (link == "")
        address = link.removeprefix("<").partition(">")[0]
        assert link in ("", f'<{address}>; rel="next"')  # RFC 8288
    assert seen == sorted(set(seen))
    assert set(ids) <= set(seen)
    for query, pointer in (
        ("page_size=0", "/page_size"), ("page_size=101", "/page_size"), ("page_token=!", "/page_token"),
        ("archived=maybe", "/archived"), ("page_size=1&page_size=2", "/page_size"),
    ):  # fmt: skip
        refused = bar.get(f"/v1/{kind}?{query}")
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, pointer)
    assert bar.get(f"/v1/{kind}?sort=price").status_code == 422
    assert len(bar.get(f"/v1/{kind}?page_size=100").json()["entries"]) <= 100


def test_lists_are_searched_and_filtered(bar: Client) -> None:
    def ids(address: str) -> list[str]:
        return [entry["id"] for entry in bar.get(address).json()["entries"]]

    assert ids("/v1/drinks?external_id=PLU:1") == ["quay-sour"]
    assert ids("/v1/ingredients?external_id=PLU:46") == ["pier-rum"]
    assert ids("/v1/drinks?text=PIER%20p") == ["pier-punch"]
    assert ids("/v1/ingredients?kind=spirit") == ["pier-rum"]
    assert ids("/v1/offers?item=pier-rum") == ["rum-case", "rum-cellar"]
    assert ids("/v1/offers?supplier=pier") == ["rum-cellar"]
    assert ids("/v1/drinks?item=tea-syrup") == ["quay-sour"]


def test_what_others_name_stays_and_they_are_listed(bar: Client) -> None:
    for here, users in (
        ("/v1/preparations/tea-syrup", ["drinks/quay-sour"]),
        ("/v1/suppliers/pier", ["offers/rum-cellar"]),
        ("/v1/venues/cellar", ["menus/board", "offers/rum-cellar"]),
        ("/v1/ingredients/pier-rum", ["drinks/pier-punch", "drinks/quay-sour", "offers/rum-case", "offers/rum-cellar"]),
    ):
        answer = bar.ask("DELETE", here, headers={"If-Match": "*"})
        assert (answer.status_code, answer.json()["type"]) == (409, "urn:washline:problem:in-use")
        assert [fault["detail"] for fault in answer.json()["errors"]] == users
        assert "archive" in answer.json()["detail"]


def test_revisions_tell_what_was_written_and_when(bar: Client) -> None:
    body, _ = _made(bar, "offers")
    here = f"/v1/offers/{body['id']}"
    later = {"price": {"amount": "12.00", "currency": "EUR"}}
    assert bar.ask("PATCH", here + "?valid_from=2027-01-01", json=later, headers={"If-Match": "*"}).status_code == 200
    page = bar.get(here + "/revisions?page_size=1").json()
    assert (page["next_after"], len(page["revisions"])) == (1, 1)
    rest = bar.get(here + "/revisions?after=1").json()
    assert rest["next_after"] is None
    rows = page["revisions"] + rest["revisions"]
    assert [(row["revision"], row["valid_from"]) for row in rows] == [(1, "0001-01-01"), (2, "2027-01-01")]
    assert [row["body"] for row in rows] == [body, {**body, **later}]
    assert bar.ask("PUT", here + "?valid_from=2027-02-30", json=body, headers={"If-Match": "*"}).status_code == 422


# RFC 7396, appendix A: original, patch, result.
@pytest.mark.parametrize(("original", "patch", "result"), [
    ({"a": "b"}, {"a": "c"}, {"a": "c"}),
    ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
    ({"a": "b"}, {"a": None}, {}),
    ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
    ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
    ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
    ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
    ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
    (["a", "b"], ["c", "d"], ["c", "d"]),
    ({"a": "b"}, ["c"], ["c"]),
    ({"a": "foo"}, None, None),
    ({"a": "foo"}, "bar", "bar"),
    ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
    ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
    ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
])  # fmt: skip
def test_a_merge_patch_is_that_of_the_standard(original: Any, patch: Any, result: Any) -> None:
    assert merged(original, patch) == result


def test_a_patch_that_takes_away_what_is_needed_is_refused(bar: Client) -> None:
    answer = bar.ask("PATCH", "/v1/drinks/quay-sour", json={"lines": None}, headers={"If-Match": "*"})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/lines")
    moved = bar.ask("PATCH", "/v1/drinks/quay-sour", json={"id": "other"}, headers={"If-Match": "*"})
    assert _codes(moved) == [("id_differs", "/id")]


@pytest.mark.parametrize("kind", KINDS)
def test_a_creation_sent_again_is_answered_as_the_first_time(bar: Client, kind: str) -> None:
    body = _new(kind)
    once = {"Idempotency-Key": f"once-{body['id']}"}
    first = bar.ask("POST", f"/v1/{kind}", json=body, headers=once)
    bar.ask("PATCH", f"/v1/{kind}/{body['id']}", json={"name": f"Else {body['id']}"}, headers={"If-Match": "*"})
    again = bar.ask("POST", f"/v1/{kind}", json=body, headers=once)
    assert (first.status_code, again.status_code, again.content) == (201, 201, first.content)
    assert [again.headers[name] for name in ("etag", "location")] == [
        first.headers[name] for name in ("etag", "location")
    ]
    assert len(bar.get(f"/v1/{kind}/{body['id']}/revisions").json()["revisions"]) == 2
    other = bar.ask("POST", f"/v1/{kind}", json={**body, "name": "Other"}, headers=once)
    assert (other.status_code, other.json()["type"]) == (422, "urn:washline:problem:idempotency-key-reused")
    dated = bar.ask("POST", f"/v1/{kind}?valid_from=2026-01-01", json=body, headers=once)
    assert dated.status_code == 422
    key = bar.key("catalogue:write", "costs:read")
    elsewhere = bar.ask("POST", f"/v1/{kind}", json=body, headers={**once, **key})
    assert elsewhere.status_code == 409  # another caller's key is another key, and the entry is there
    for bad in ("", "\u00e9", "x" * 256):
        sent = {"Idempotency-Key": bad.encode("latin-1")}
        assert bar.ask("POST", f"/v1/{kind}", json=body, headers=sent).status_code == 400


def test_a_creation_that_failed_may_be_sent_again(bar: Client) -> None:
    once = {"Idempotency-Key": "failed-first"}
    assert bar.ask("POST", "/v1/drinks", json={"id": "late"}, headers=once).status_code == 422
    assert bar.ask("POST", "/v1/drinks", json=_new("drinks", "late"), headers=once).status_code == 201


@pytest.mark.parametrize("entry_id", ["A", "%00", "a%00b", "-a", "a" * 65, "%C3%A9", "a%20b", "%F0%9F%8D%B8", "a%0Ab"])
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_no_id_is_not_found(bar: Client, kind: str, entry_id: str) -> None:
    for suffix in ("", "/revisions"):
        assert bar.get(f"/v1/{kind}/{entry_id}{suffix}").status_code == 404
    for method in ("DELETE", "PATCH"):
        answer = bar.ask(method, f"/v1/{kind}/{entry_id}", json={}, headers={"If-Match": "*"})
        assert answer.status_code == 404
    assert bar.ask("PUT", f"/v1/{kind}/{entry_id}", json=_new(kind)).status_code == 422


def test_names_ids_and_external_ids_of_others_are_refused(bar: Client) -> None:
    for body, code in (
        ({**_new("ingredients"), "name": "PIER RUM"}, "name-taken"),
        ({**_new("ingredients"), "external_ids": ["PLU:46"]}, "external-id-taken"),
        (_new("ingredients", "tea-syrup"), "id-taken"),
    ):
        answer = bar.ask("POST", "/v1/ingredients", json=body)
        assert (answer.status_code, answer.json()["type"]) == (409, f"urn:washline:problem:{code}")


@pytest.mark.parametrize(("kind", "change", "fault"), [
    ("offers", {"pack": {"size": "banana"}}, ("amount_unreadable", "/pack/size")),
    ("offers", {"gtin": "9520123456789"}, ("gtin_check_digit", "/gtin")),
    ("offers", {"item": "nothing-here"}, ("item_unknown", "/item")),
    ("offers", {"id": "../x"}, ("string_pattern_mismatch", "/id")),
    ("drinks", {"lines": [{"item": "nothing-here", "amount": "1 ml"}]}, ("item_unknown", "/lines/0/item")),
    ("drinks", {"lines": [{"item": "water", "amount": "1 banana"}]}, ("unit_unknown", "/lines/0/amount")),
    ("drinks", {"modifiers_": []}, ("extra_forbidden", "")),
    ("preparations", {"yield": {"amount": "20 l"}}, ("yield_exceeds_inputs", "/yield/amount")),
    ("menus", {"entries": [{"drink": "none"}]}, ("unknown_drink", "/entries/0/drink")),
    ("menus", {"valid_from": "2026-02-01", "valid_to": "2026-01-01"}, ("validity_reversed", "")),
])  # fmt: skip
def test_what_cannot_be_worked_with_is_refused_at_its_place(
    bar: Client, kind: str, change: Body, fault: tuple[str, str]
) -> None:
    answer = bar.ask("POST", f"/v1/{kind}", json={**_new(kind), **change})
    assert answer.status_code == 422
    assert fault[1] in [pointer for _, pointer in _codes(answer)], answer.text


def _writes(entry_id: str) -> Iterator[tuple[str, str, dict[str, str]]]:
    for kind in KINDS:
        yield "POST", f"/v1/{kind}", {}
        yield "PUT", f"/v1/{kind}/{entry_id}", {}
    yield "PATCH", "/v1/drinks/quay-sour", {"If-Match": "*"}


def test_no_bad_body_is_taken_by_any_route_that_writes(bar: Client) -> None:
    """The corpus of POST /v1/evaluate, spread over the routes; some of a broken field, strange here anyway."""
    writes = list(_writes("unwritten"))
    before = bar.app.state.store.versions()
    faults, asked = [], 0
    shift = 0 if bar.app.state.store.embedded else 7  # the two backends ask each body of two routes
    broken = [case for case in corpus.refused() if " at /" not in case.name]
    of_fields = [case for case in corpus.refused() if " at /" in case.name]
    for number, case in enumerate((*broken, *of_fields[::16])):
        method, address, headers = writes[(number + shift) % len(writes)]
        if (
            number % 2 == shift % 2
            or (len(case.raw) > 20_000 and number % 7)
            or (method == "PATCH" and case.statuses == (422,))
        ):
            continue  # as a patch a body may say something
        sent = {**headers, "Content-Type": "application/json"}
        answer = bar.ask(method, address, content=case.raw, headers=sent)
        asked += 1
        if answer.status_code not in (400, 413, 422) or corpus.MARK.casefold() in answer.text.casefold():
            faults.append(f"{method} {address} {case.name}: {answer.status_code} {answer.text[:200]}")
    assert not faults, "\n".join(faults[:20])
    assert asked >= 500
    assert bar.app.state.store.versions() == before


@pytest.mark.parametrize("text", ["a\x00b", "a\u202eb", "\ud800", "a\nb", ""])
@pytest.mark.parametrize("kind", KINDS)
def test_text_that_is_no_plain_line_is_refused(bar: Client, kind: str, text: str) -> None:
    raw = json.dumps({**_new(kind), "name": text}).encode()
    answer = bar.ask("POST", f"/v1/{kind}", content=raw, headers={"Content-Type": "application/json"})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/name")


def test_text_is_kept_in_nfc(bar: Client) -> None:
    made = bar.ask("POST", "/v1/ingredients", json={**_new("ingredients"), "name": "Cre\u0301me \U0001f378"})
    assert made.json()["name"] == "Cr\u00e9me \U0001f378"


@pytest.mark.parametrize(("media", "status"), [
    ("text/plain", 415), ("application/json; charset=latin-1", 415), ("application/xml", 415),
    ("application/merge-patch+json", 201), ("application/json; charset=utf-8", 201),
])  # fmt: skip
def test_only_json_is_read(bar: Client, media: str, status: int) -> None:
    raw = json.dumps(_new("suppliers")).encode()
    assert bar.ask("POST", "/v1/suppliers", content=raw, headers={"Content-Type": media}).status_code == status
