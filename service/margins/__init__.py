"""The books: margins over what sold, what moved them, what was used, what perishes. Pure: no clock, no store, no HTTP.

One file per question. Money is :class:`~decimal.Decimal` with its currency beside it; what is not known is ``None``.
"""
