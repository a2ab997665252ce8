"""The check code of a paper: short enough to be typed, long enough that nobody guesses one.

Eighty bits of the SHA-256 of what the paper says and of its own id, in the figures and letters of Crockford's base 32
(I, L and O are read as 1, 1 and 0), and behind them the remainder by 37, as he has it, so that a slip of the pen is
told from a code that was never printed. Of several hashes that is taken whose remainder is one of the 32 figures: the
five further symbols that he needs for the others have a meaning of their own in addresses.
"""

from hashlib import sha256
from itertools import count

from service.core.errors import Invalid

FIGURES = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
BITS = 80
LENGTH = BITS // 5 + 1
_BY = 37
_READ_AS = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None, " ": None})


def check_code(said: bytes) -> str:
    """The code of these bytes, in groups of four: ``7K2M-…-…-…-C``."""
    hashes = (int.from_bytes(sha256(bytes([again]) + said).digest()[: BITS // 8]) for again in count())
    number = next(number for number in hashes if number % _BY < len(FIGURES))
    figures = "".join(FIGURES[number >> shift & 31] for shift in range(BITS - 5, -5, -5)) + FIGURES[number % _BY]
    return _in_groups(figures)


def _in_groups(figures: str) -> str:
    return "-".join(figures[at : at + 4] for at in range(0, LENGTH, 4))


def as_printed(typed: str) -> str:
    """A code as somebody typed it, in the form in which it was printed.

    :raises Invalid: when it is none, or when one of its characters is wrong.
    """
    read = typed.strip().upper().translate(_READ_AS)
    body, check = read[:-1], read[-1:]
    if len(read) != LENGTH or not set(body) <= set(FIGURES) or check not in FIGURES:
        raise Invalid(
            "check_code", "A check code has 17 figures and letters, such as stand at the foot of the paper."
        )
    number = 0
    for figure in body:
        number = number * 32 + FIGURES.index(figure)
    if number % _BY != FIGURES.index(check):
        raise Invalid("check_code", "One of its characters is not as it was printed: the code does not check.")
    return _in_groups(read)
