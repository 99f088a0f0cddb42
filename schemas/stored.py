"""Questions about stored things, and the answers around them."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StringConstraints

from schemas._base import Output, Query
from schemas.answer_money import AtMenuPrice
from schemas.parameters import flag, separated, whole
from schemas.scalars import Currency, Day, Id, Jurisdiction, NetMl, SoldAs, Text

Version = Annotated[int, BeforeValidator(whole), Field(ge=0, le=10**12)]


class _AsOf(Query):
    as_of: Day | None = None
    """The day whose prices, specs and rules apply; today (UTC) unless given."""
    venue: Id | None = None
    """The venue whose prices, taxes and rules apply; the group's unless given."""
    menu: Id | None = None
    """The menu whose prices apply, and for bulk answers whose drinks are answered."""
    currency: Currency | None = None
    """Instead of the venue's; its targets and steps, which are sums in another currency, are then left out."""
    jurisdiction: Annotated[tuple[Jurisdiction, ...], BeforeValidator(separated), Field(max_length=60)] | None = None
    """Codes separated by commas; the venue's unless given."""
    lang: Annotated[str, StringConstraints(pattern=r"^[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8}){0,8}$")] | None = None
    """Language of the texts for guests (BCP 47), before Accept-Language; one that is not held is English, marked."""
    cost_version: Version | None = None
    """The stamp of an earlier answer: what was known then. Needs `costs:read`."""
    data_version: Version | None = None
    """The stamp of an earlier label: what was known then."""


class DrinkQuery(_AsOf):
    """A question about one stored drink."""

    with_: Annotated[
        Annotated[tuple[Id, ...], BeforeValidator(separated), Field(max_length=20)] | None, Field(alias="with")
    ] = None
    """Modifiers of the drink, separated by commas, in their order."""
    bands: Annotated[bool, BeforeValidator(flag), Field(strict=True)] = False
    """`true`: the answer says how sure its figures are; it takes some three times as long."""


class PrintQuery(DrinkQuery):
    """A question about one stored drink whose answer may be printed: a spec sheet (HTML) or a label panel (SVG)."""

    serves: Annotated[int, BeforeValidator(whole), Field(ge=1, le=10_000)] | None = None
    """Serves of the batch on the sheet; none is printed unless given."""
    sold_as: SoldAs | None = None
    """How the drink is sold; as it says itself, else as the venue sells, unless given."""
    net_ml: NetMl | None = None
    """Net quantity of a packed drink in ml, as it is to be printed on the panel; the drink's own unless given."""
    lot: Text | None = None
    """Lot of a packed drink; the drink's own unless given."""
    made_on: Day | None = None
    """Day on which the pack was made; the drink's own unless given."""
    storage: Text | None = None
    """How a packed drink is to be kept; the drink's own, else the venue's, unless given."""
    responsible: Text | None = None
    """Name and address of who answers for a packed drink; the drink's own, else the venue's, unless given."""

    def pack(self) -> tuple[tuple[str, object], ...]:
        """What is asked of the pack, by the field of the drink that it stands instead of."""
        stated = ((name, getattr(self, name)) for name in _OF_THE_PACK)
        return tuple((name, one) for name, one in stated if one is not None)


_OF_THE_PACK = ("sold_as", "net_ml", "lot", "made_on", "storage", "responsible")


class MenuQuery(Query):
    """A question about one stored menu."""

    as_of: Day | None = None
    """The day whose lines, specs and rules apply; today (UTC) unless given."""
    venue: Id | None = None
    """The venue whose settings apply where the menu is of none; the group's unless given."""
    jurisdiction: Annotated[tuple[Jurisdiction, ...], BeforeValidator(separated), Field(max_length=60)] | None = None
    """Codes separated by commas; the venue's unless given. What is printed is in the words of the first."""
    bands: Annotated[bool, BeforeValidator(flag), Field(strict=True)] = False
    """`true`: each drink says how sure its strength is; it takes some three times as long."""
    lang: Annotated[str, StringConstraints(pattern=r"^[A-Za-z]{1,8}(-[A-Za-z0-9]{1,8}){0,8}$")] | None = None
    """Language of the texts for guests (BCP 47), before Accept-Language; one that is not held is English, marked."""
    cost_version: Version | None = None
    """The stamp of an earlier answer: what was known then. Needs `costs:read`."""
    data_version: Version | None = None
    """The stamp of an earlier label: what was known then."""


class BulkQuery(_AsOf):
    """A question about the drinks of a menu, or all drinks."""

    page_size: Annotated[int, BeforeValidator(whole), Field(ge=1, le=100)] = 50
    """Drinks on one page, 1 to 100."""
    page_token: Annotated[str, StringConstraints(max_length=200)] | None = None
    """The `next_page_token` of the page before."""


class FeedQuery(Query):
    """Where in a feed to go on."""

    cursor: Annotated[str, StringConstraints(max_length=200)] | None = None
    """The `next_cursor` of an earlier answer; from the beginning unless given."""
    page_size: Annotated[int, BeforeValidator(whole), Field(ge=1, le=100)] = 50
    """Changes on one page, 1 to 100."""


class AuditQuery(Query):
    """Which part of the audit trail is shown."""

    after: Annotated[int, BeforeValidator(whole), Field(ge=0, le=10**12)] = 0
    """Only rows after this sequence number."""
    kind: Annotated[str, StringConstraints(pattern=r"^[a-z_]{1,16}$")] | None = None
    """Only this kind of thing."""
    id: Annotated[str, StringConstraints(max_length=64)] | None = None
    """Only this id."""
    page_size: Annotated[int, BeforeValidator(whole), Field(ge=1, le=100)] = 50
    """Rows on one page, 1 to 100."""


class Entry(Output):
    """One entry of a list."""

    id: str
    """Its id."""
    state: Literal["live", "archived"]
    """Archived entries are kept for what uses them."""
    etag: str
    """What If-Match takes."""
    body: dict[str, Any]
    """As one is read alone."""


class EntryPage(Output):
    """One page of a list."""

    entries: tuple[Entry, ...]
    """In the order of their ids."""
    next_page_token: str | None
    """For the next page; null on the last."""


class Revision(Output):
    """One state of an entry."""

    revision: int
    """Counts from 1."""
    valid_from: str
    """The day from which it holds; 0001-01-01 is since ever."""
    recorded_at: str
    """When it was written (UTC)."""
    cost_version: int
    """The version that announced it."""
    state: Literal["live", "archived", "gone"]
    """Gone: deleted from that day on."""
    body: dict[str, Any]
    """As it was written."""


class RevisionPage(Output):
    """One page of a history."""

    revisions: tuple[Revision, ...]
    """The first one first."""
    next_after: int | None
    """For the next page; null on the last."""


class Margin(Output):
    """What one stored drink leaves."""

    drink: dict[str, Any]
    """Id, name and serves."""
    menu: str | None
    """The menu whose price is used; null where no menu sells it on that day."""
    currency: str | None
    """Of every sum."""
    pour_cost: str | None
    """Ingredients, garnish and allowances of one serve."""
    complete: bool
    """Whether every cost is known."""
    missing: tuple[dict[str, Any], ...]
    """What is not."""
    at_menu_price: AtMenuPrice | None
    """At the price on the menu; null where there is none or the cost is unknown."""
    suggested: str | None
    """The price that meets the target."""
    meta: dict[str, Any]
    """Versions and rounding."""


class BulkRow(Output):
    """One drink of a bulk answer; the sections asked for, or the problem with it."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """The modifiers it is sold with."""
    delta: dict[str, Any] | None = None
    """What its modifiers change."""
    serve: dict[str, Any] | None = None
    """As in the whole answer."""
    cost: dict[str, Any] | None = None
    """As in the whole answer."""
    price: dict[str, Any] | None = None
    """As in the whole answer."""
    alcohol: dict[str, Any] | None = None
    """As in the whole answer."""
    nutrition: dict[str, Any] | None = None
    """As in the whole answer."""
    allergens: dict[str, Any] | None = None
    """As in the whole answer."""
    advisories: tuple[dict[str, Any], ...] | None = None
    """As in the whole answer."""
    use_by: dict[str, Any] | None = None
    """As in the whole answer."""
    warnings: tuple[dict[str, Any], ...] | None = None
    """As in the whole answer."""
    problem: dict[str, Any] | None = None
    """Why this drink could not be answered."""


class BulkPage(Output):
    """One page of answers."""

    drinks: tuple[BulkRow, ...]
    """In the order of the menu, or of their ids."""
    next_page_token: str | None
    """For the next page; null on the last."""
    meta: dict[str, Any]
    """The day and the versions."""


class MenuOf(Output):
    """Which menu it is."""

    id: str
    """Its id."""
    name: str
    """As printed."""
    venue: str | None
    """The venue whose menu it is; null where it is the group's."""


class MenuLabelRow(BulkRow):
    """One line of a menu; the sections of a label, or the problem with it."""

    name: str | None = None
    """Of the drink; left out where there is a problem."""
    section: str | None
    """The heading it stands under."""
    duties: tuple[dict[str, Any], ...] | None = None
    """As in the whole answer."""
    pack: dict[str, Any] | None = None
    """As in the whole answer."""
    menu_price: str | None = None
    """As on the menu; only where the key sees prices or the menu says that they are public."""
    currency: str | None = None
    """Of that price; null where the venue has none."""


class MenuLabel(Output):
    """What guests may read of a menu on one day."""

    menu: MenuOf
    """Which menu it is."""
    drinks: tuple[MenuLabelRow, ...]
    """In the order of the menu."""
    meta: dict[str, Any]
    """The day and the data version."""


class FeedRow(Output):
    """One drink that moved."""

    drink: str
    """Its id."""
    why: Literal["price", "spec", "rules"]
    """What moved it."""
    since: str
    """The day from which it holds; 0001-01-01 is since ever."""
    recorded_at: str
    """When the change was written (UTC)."""
    before: dict[str, Any] | None
    """What was answered before; null where the drink was not there."""
    after: dict[str, Any] | None
    """What is answered since; null where the drink is gone."""


class Feed(Output):
    """Changes in the order in which they were announced."""

    changes: tuple[FeedRow, ...]
    """Only drinks whose answer is another one."""
    next_cursor: str
    """Where to go on; the same as before where nothing is new."""
    more: bool
    """Whether there is more now."""


class AuditRow(Output):
    """One row of the audit trail."""

    sequence: int
    """Counts up."""
    recorded_at: str
    """When (UTC)."""
    key_id: str
    """By which key; `open` without one."""
    request_id: str
    """By which request."""
    action: str
    """create, replace, archive, reinstate, delete, revoke or commit."""
    kind: str
    """What kind of thing."""
    id: str
    """Which."""
    cost_version: int
    """The version that announced it."""
    before: dict[str, Any] | None
    """The body before."""
    after: dict[str, Any] | None
    """The body after."""


class AuditPage(Output):
    """A part of the audit trail."""

    rows: tuple[AuditRow, ...]
    """The oldest first."""
    next_after: int | None
    """For the next part; null on the last."""


class KeyView(Output):
    """A key without its secret."""

    id: str
    """In addresses and in the audit trail."""
    prefix: str
    """The public part of its text."""
    name: str
    """Whose it is."""
    scopes: tuple[str, ...]
    """What it may do."""
    venue: str | None
    """The one venue it may ask about."""
    created_at: str
    """When (UTC)."""
    expires_at: str | None
    """From when on it no longer works."""
    revoked_at: str | None
    """Since when it no longer works."""
    last_used_at: str | None
    """About when it was last used."""


class Access(Output):
    """What the key that asks may do."""

    scopes: tuple[str, ...]
    """Its scopes."""
    venue: str | None
    """The one venue it may ask about."""


class KeyMade(KeyView):
    """A new key; its text is shown this once."""

    key: str
    """Send it as `Authorization: Bearer`."""


class KeyList(Output):
    """All keys."""

    keys: tuple[KeyView, ...]
    """In the order of their ids, the ended ones too."""


class DeclarationWork(Output):
    """A declaration that has to be renewed or backed by evidence."""

    item: str
    """The item's id."""
    name: str
    """Its name."""
    state: Literal["stale", "declared_unverified"]
    """Why it is listed."""
    why: str | None
    """What is past, changed or lacking."""
    review_by: str | None
    """The day by which it was to be looked at again."""
    drinks: tuple[str, ...]
    """The drinks that rest on it, with their modifiers after a plus sign."""


class Cleared(Output):
    """One unknown that one answer clears."""

    drink: str
    """The drink's id, with its modifiers after a plus sign."""
    allergen: str
    """What is then known of it."""


class AllergenQuestion(Output):
    """What to ask about one item, once for all drinks."""

    item: str
    """The item's id."""
    allergens: tuple[str, ...]
    """What nobody has declared of it."""
    drinks: tuple[str, ...]
    """Drinks in which that leaves something unknown."""
    clears: tuple[Cleared, ...]
    """What the answer settles alone, since nothing else leaves it unknown."""
    settled: tuple[str, ...]
    """Drinks that then have no unknown left."""


class AllergenWork(Output):
    """What has to be asked before a menu's allergens can be relied on."""

    declarations: tuple[DeclarationWork, ...]
    """By item: stale ones, and complete ones without evidence."""
    questions: tuple[AllergenQuestion, ...]
    """What clears most first."""
    meta: dict[str, Any]
    """The day and the data version."""
