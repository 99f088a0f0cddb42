"""What offers are found by, and writes that repeat what is held. Expectations follow from the bar by hand."""

from tests.api.conftest import Client


def test_offers_are_found_by_item_supplier_and_code(bar: Client) -> None:
    def found(text: str) -> set[str]:
        rows = bar.get("/v1/offers", params={"text": text, "page_size": "100"}).json()["entries"]
        return {row["id"] for row in rows}

    assert found("pier rum") == {"rum-case", "rum-cellar"}  # the name of the item
    assert found("PIER-RU") == {"rum-case", "rum-cellar"}  # its id
    assert found("example pier") == {"rum-cellar"}  # the name of the supplier
    assert found("r-46") == {"rum-case"}  # the supplier's code
    assert found("9520123456788") == {"rum-case"}
    assert "sugar" in found("white sugar")  # the name of an embedded item
    assert found("no such thing") == set()
    assert found("%") == found("_") == set()


def test_a_write_of_what_is_held_changes_nothing(bar: Client) -> None:
    def told() -> tuple[object, ...]:
        versions = bar.app.state.store.versions()
        revisions = bar.get("/v1/offers/sugar/revisions").json()["revisions"]
        audit = bar.get("/v1/audit?kind=offers&id=sugar&page_size=100").json()["rows"]
        return versions, revisions, audit, bar.get("/v1/changes/costs?page_size=100").json()["next_cursor"]

    read = bar.get("/v1/offers/sugar")
    before = told()
    for method, body in (("PUT", read.json()), ("PATCH", {}), ("PATCH", {"price": read.json()["price"]})):
        answer = bar.ask(method, "/v1/offers/sugar", json=body, headers={"If-Match": read.headers["etag"]})
        assert (answer.status_code, answer.headers["etag"]) == (200, read.headers["etag"])
        assert told() == before
    stale = bar.ask("PUT", "/v1/offers/sugar", json=read.json(), headers={"If-Match": '"0"'})
    assert stale.status_code == 412
    dear = {"price": {"amount": "77.00", "currency": "EUR"}}
    planned = "/v1/offers/sugar?valid_from=2031-01-01"
    assert bar.ask("PATCH", planned, json=dear, headers={"If-Match": "*"}).status_code == 200
    now = bar.ask("PATCH", "/v1/offers/sugar", json=dear, headers={"If-Match": "*"})
    assert now.status_code == 200  # planned for 2031, now wanted from today: that is a change
    assert len(bar.get("/v1/offers/sugar/revisions").json()["revisions"]) == len(before[1]) + 2  # type: ignore[arg-type]
