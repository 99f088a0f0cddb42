"""Questions about stored things, as the parameters of an address."""

from typing import Annotated

from pydantic import BeforeValidator, Field, StringConstraints

from schemas._base import Query
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


_OF_THE_PACK = ("sold_as", "net_ml", "lot", "made_on", "storage", "responsible")


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
    """Changes on one page, 1 to 100; a page may hold fewer, and none, where `more` is true."""


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
