"""Numbers as people write them: 12,5 and .5, 1,234,567 and 1 234 567, 3/8 and 1 1/4, with a unit behind.

The page reads by the same rules (`static/core/typed.js`); a test reads random text on both sides.
"""

import math
import re

NOT_A_NUMBER = "Enter a number."
TOO_LARGE = "That number is too large."
LONGEST = 40  # characters

# What a keyboard or another program puts for the plain characters: the true minus and the dash, spaces that do not break, primes.
_SPACE = re.compile("[ \t\r\n\u00a0\u2007\u2009\u202f]+")
_PLAIN = str.maketrans({"−": "-", "–": "-", "⁄": "/", "’": "'", "′": "'", "”": '"', "″": '"'})
_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}

_SIGN = re.compile(r"[+-]?")
_FRACTION = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)")
_GROUPED = re.compile(r"([1-9][0-9]{0,2}(?:,[0-9]{3})+|[1-9][0-9]{0,2}(?:\.[0-9]{3})+|[1-9][0-9]{0,2}(?: [0-9]{3})+)(?![0-9])([.,][0-9]+)?")
_DECIMAL = re.compile(r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+")
_POWER = re.compile(r"(?:[eE][+-]?[0-9]+)?")


def read(text):
    """Read a number and what stands behind it: ([(number, as it is written plainly), ...], unit text).

    There are two readings where a comma may part thousands or be a decimal one (`1,050`), thousands first; else there is one.
    Errors: ValueError with a sentence for the user.

    >>> read("1 1/4 in"), read("-12,5"), read("1,050 psi")
    (([(1.25, '1 1/4')], 'in'), ([(-12.5, '-12,5')], ''), ([(1050.0, '1050'), (1.05, '1.05')], 'psi'))
    """
    if len(text) > LONGEST:
        raise ValueError(NOT_A_NUMBER)
    text = tidy(text)
    sign = _SIGN.match(text).group()
    readings, end = _fraction(text, len(sign)) or _grouped(text, len(sign)) or _decimal(text, len(sign)) or (None, 0)
    # Digits that are left over belong to the number, and make it none.
    if readings is None or text[end : end + 1] in tuple("0123456789.,/"):
        raise ValueError(NOT_A_NUMBER)
    factor = -1.0 if sign == "-" else 1.0
    return [(factor * number, sign + written) for number, written in readings], text[end:].strip(" ")


def tidy(text):
    """Write a text with plain characters and single spaces.

    >>> tidy(" −1½  in ")
    '-1 1/2 in'
    """
    for sign, written in _FRACTIONS.items():
        text = text.replace(sign, f" {written} ")
    return _SPACE.sub(" ", text).translate(_PLAIN).strip(" ")


def _fraction(text, start):
    match = _FRACTION.match(text, start)
    if match is None or float(match.group(3)) == 0.0:
        return None
    whole, above, below = match.groups(default="0")
    return [(float(whole) + float(above) / float(below), match.group())], match.end()


def _grouped(text, start):
    """A number with its thousands parted. A single point is a decimal point; a single comma may be one too."""
    match = _GROUPED.match(text, start)
    if match is None:
        return None
    groups, decimals = match.group(1), match.group(2) or ""
    mark = next(sign for sign in groups if not sign.isdigit())
    lone = groups.count(mark) == 1 and decimals == ""
    if decimals[:1] == mark or (lone and mark == "."):
        return None
    power = _POWER.match(text, match.end())
    whole = groups.replace(mark, "") + decimals.replace(",", ".")
    readings = [(float(whole + power.group()), whole + power.group())]
    if lone and mark == ",":
        fraction = groups.replace(",", ".").rstrip("0").rstrip(".")
        readings.append((float(fraction + power.group()), fraction + power.group()))
    else:
        readings = [(readings[0][0], text[start : power.end()])]
    return readings, power.end()


def _decimal(text, start):
    match = _DECIMAL.match(text, start)
    if match is None:
        return None
    power = _POWER.match(text, match.end())
    written = text[start : power.end()]
    return [(float(written.replace(",", ".")), written)], power.end()


def pick(readings, fits):
    """Choose the one reading that fits the field, `fits(number)`; a single reading needs no choice.

    Errors: ValueError that shows both readings where both fit or neither does.

    >>> pick([(1050.0, "1050"), (1.05, "1.05")], lambda number: number < 60)
    (1.05, '1.05')
    """
    if len(readings) > 1:
        fitting = [reading for reading in readings if fits(reading[0])]
        if len(fitting) != 1:
            raise ValueError(ambiguous(readings))
        readings = fitting
    if not math.isfinite(readings[0][0]):
        raise ValueError(TOO_LARGE)
    return readings[0]


def ambiguous(readings):
    """The sentence for a number that can be read in two ways."""
    (_, whole), (_, fraction) = readings
    digits = whole.lstrip("+-")
    typed = whole.replace(digits, f"{digits[:-3]},{digits[-3:]}") if digits.isdigit() else whole
    return f"{typed} could be {whole} or {fraction}: write it without the comma, or with a point."
