"""How the text of a parameter in an address becomes a value; what is no such text is left for the field to refuse."""


def whole(value: object) -> object:
    """A whole number in plain digits."""
    return int(value) if isinstance(value, str) and value.isascii() and value.isdigit() and len(value) <= 15 else value


def separated(value: object) -> object:
    """Codes or ids separated by commas, or the parameter sent once."""
    if isinstance(value, list) and len(value) == 1:
        value = value[0]
    return value.split(",") if isinstance(value, str) else value


def separated_wholes(value: object) -> object:
    """Whole numbers separated by commas."""
    parts = separated(value)
    if not isinstance(parts, list):
        return parts
    return [whole(part.strip() if isinstance(part, str) else part) for part in parts]


def flag(value: object) -> object:
    """``true`` or ``false``."""
    return {"true": True, "false": False}.get(value, value) if isinstance(value, str) else value
