"""Names of people, as records write them."""


def is_same_name(one: str, other: str) -> bool:
    """Whether two cells name the same person; letter case and spaces make no difference, a blank names nobody.

    Examples
    --------
    >>> is_same_name("A. Smith", "a.smith "), is_same_name("", "")
    (True, False)
    """
    plain = "".join(one.split()).casefold()
    return bool(plain) and plain == "".join(other.split()).casefold()
