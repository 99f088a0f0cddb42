"""What sold, row by row: how much, for what money, on which trading day; and the net of it.

What a row states as its gross is what the till rang up before anything is taken off: with the tax where prices hold
it, with the service charge and the deposit of a container where the guest paid them in it.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, HUNDRED, ZERO
from service.pricing import Tax

Key = tuple[str, tuple[str, ...]]
"""A drink with the modifiers it was sold with."""


class Channel(Struct, frozen=True):
    """A way of selling: ``commission_percent`` of the net, ``fee`` and ``packaging`` for each serve, net of tax."""

    id: str
    commission_percent: Decimal = ZERO
    fee: Decimal = ZERO
    packaging: Decimal = ZERO


class Sale(Struct, frozen=True):
    """One row: negative quantities and sums are refunds, a quantity of 0 with money is a correction.

    ``gross``, ``discount``, ``complimentary`` (what of the gross was given away), ``service_charge`` and ``deposit``
    are of the whole row. ``timed_price`` names the tariff it was sold at and changes no figure.
    """

    row: int
    day: date
    drink: str
    quantity: Decimal
    gross: Decimal
    with_: tuple[str, ...] = ()
    discount: Decimal = ZERO
    complimentary: Decimal = ZERO
    service_charge: Decimal = ZERO
    deposit: Decimal = ZERO
    channel: str | None = None
    tax_class: str | None = None
    timed_price: str | None = None
    venue: str | None = None

    @property
    def key(self) -> Key:
        """The drink with its modifiers."""
        return self.drink, self.with_


class NetSale(Struct, frozen=True):
    """A row in net money: ``net`` without tax, discount, gifts, service charge and deposit; channel costs beside it."""

    sale: Sale
    net: Decimal
    tax: Decimal
    channel_cost: Decimal


def net_sale(sale: Sale, taxes: Mapping[str | None, Tax], channels: Mapping[str, Channel]) -> NetSale:
    """The net of a row.

    net = (gross - discount - complimentary - service charge - deposit) / tax factor, where prices hold the tax;
    channel cost = net x commission / 100 + quantity x (fee + packaging). ``taxes`` are by class; ``None`` is the class
    of rows that name none. Reference: arithmetic.
    """
    tax = taxes.get(sale.tax_class)
    if tax is None:
        detail = "State the rate of this tax class in tax_classes."
        raise InputFault("tax_class_unknown", detail, f"/sales/{sale.row}/tax_class")
    channel = None
    if sale.channel is not None:
        channel = channels.get(sale.channel)
        if channel is None:
            raise InputFault("channel_unknown", "State this channel in channels.", f"/sales/{sale.row}/channel")
    paid = EXACT.subtract(sale.gross, EXACT.add(sale.discount, sale.complimentary))
    paid = EXACT.subtract(paid, EXACT.add(sale.service_charge, sale.deposit))
    net = EXACT.divide(paid, tax.factor()) if tax.included else paid
    held = EXACT.subtract(paid, net) if tax.included else EXACT.multiply(net, EXACT.subtract(tax.factor(), Decimal(1)))
    cost = ZERO
    if channel is not None:
        cost = EXACT.divide(EXACT.multiply(net, channel.commission_percent), HUNDRED)
        each = EXACT.add(channel.fee, channel.packaging)
        cost = EXACT.add(cost, EXACT.multiply(sale.quantity, each))
    return NetSale(sale, net, held, cost)
