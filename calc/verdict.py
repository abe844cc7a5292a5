"""The three words that every check answers with."""


def verdict(spare, margin):
    """Say whether what is spare covers the margin that the user wants kept.

    Inputs: `spare` and `margin`, any one unit. Result: "holds" where spare reaches the margin, "thin" where something is
    spare but less than the margin, "short" where nothing is. Range: any finite numbers. Errors: none.
    Source: definition of this project.

    >>> verdict(2.0, 1.0), verdict(0.5, 1.0), verdict(-0.1, 1.0)
    ('holds', 'thin', 'short')
    """
    if spare < 0.0:
        return "short"
    if spare >= margin:
        return "holds"
    return "thin"
