"""One place for what is solved step by step: brackets that always close, in a bounded number of steps."""

MOST_STEPS = 200  # a halving each step would part doubles long before; more is no answer, and a phone must not hang
HALVINGS = 60  # the share 2^-60 of the bracket: less than a double's last digit


def last_not_negative(falling, low, high, at_low, at_high, tolerance):
    """The end of the stretch on which a function that falls through zero is not yet negative.

    Inputs: `falling`, a function of one float; `low` where it is not negative, `high` where it is, their values `at_low` and
    `at_high`, `tolerance` in x. Result: x with falling(x) >= 0 within the tolerance of the crossing; at a jump, the near side
    of it; `low` where it is negative there already, `high` where it nowhere is. Errors: none; the bracket closes for every
    function, continuous or not. Formula: a step by inverse quadratic interpolation where it is safe, else half of the stretch:
    x = a + share (b - a). Source: Chandrupatla, Advances in Engineering Software 28 (1997) 145-149: inverse quadratic steps
    where safe, halving elsewhere.

    >>> last_not_negative(lambda x: 2.0 - x * x, 0.0, 2.0, 2.0, -2.0, 1e-12)
    1.41421356
    >>> last_not_negative(lambda x: -1.0 - x, 0.5, 2.0, -1.5, -3.0, 1e-12), last_not_negative(lambda x: x, 0.5, 2.0, 0.5, 2.0, 1e-12)
    (0.5, 2.0)
    """
    if at_low < 0.0:
        return low
    if at_high >= 0.0:
        return high
    # a is the newest point, b the end across the root from it, c the point before.
    a, b, c = high, low, high
    fa, fb, fc = at_high, at_low, at_high
    share = 0.5
    # A step never stays within a tolerance of an end.
    for _ in range(MOST_STEPS):
        if not abs(b - a) > tolerance:
            break
        x = a + share * (b - a)
        fx = falling(x)
        if (fx >= 0.0) == (fa >= 0.0):
            c, fc = a, fa
        else:
            c, fc = b, fb
            b, fb = a, fa
        a, fa = x, fx
        share = _next_share(a, b, c, fa, fb, fc)
        least = 0.5 * tolerance / abs(b - a) if b != a else 0.5
        share = min(max(share, least), 1.0 - least) if least < 0.5 else 0.5
    return a if fa >= 0.0 else b


def crossing(rising, low, high):
    """The place where a function that rises through zero does so, by halving.

    Inputs: `rising`, a function of one float; `low` and `high`, either side of it. Result: x; the end on whose side zero lies
    where the function does not cross it between. Errors: none. Source: bisection, sixty times.

    >>> crossing(lambda x: x * x - 2.0, 0.0, 2.0)
    1.41421356
    """
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if rising(middle) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def _next_share(a, b, c, fa, fb, fc):
    if fc == fb or fc == fa or c == b:
        return 0.5
    place = (a - b) / (c - b)
    height = (fa - fb) / (fc - fb)
    if height * height < place and (1.0 - height) * (1.0 - height) < 1.0 - place:
        return fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return 0.5
