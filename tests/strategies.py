"""Random admissible inputs for any form, from its description alone."""

from hypothesis import strategies as st


def inputs_of(form, filled=True):
    """Strategy for SI inputs of a form class (API values). With `filled`, assumed and optional fields are sometimes left out."""
    return values_of([field.describe() for field in form().fields.values()], filled)


def values_of(fields, filled=True):
    chosen = {field["name"]: value_of(field) for field in fields if field["type"] != "variant"}
    chosen |= {
        field["name"]: st.fixed_dictionaries({word: value_of(told) for word, told in field["variants"].items()})
        for field in fields
        if field["type"] == "variant"
    }
    may_go = [field["name"] for field in fields if filled and ("assumed" in field or field.get("optional"))]
    left_out = st.sets(st.sampled_from(may_go)) if may_go else st.just(set())
    return st.tuples(st.fixed_dictionaries(chosen), left_out).map(lambda drawn: _tidy(fields, *drawn))


def _tidy(fields, values, left_out):
    """Keep what applies: pick each variant's quantity, drop what was left out or belongs to another choice."""
    by_name = {field["name"]: field for field in fields}
    kept = {name: value for name, value in values.items() if name not in left_out}
    known = {name: field["assumed"] for name, field in by_name.items() if "assumed" in field} | kept
    tidy = {}
    for name, value in kept.items():
        field = by_name[name]
        if field["type"] == "variant":
            value = value[known[field["by"]]]
        if all(known.get(other) in allowed for other, allowed in field.get("when", {}).items()):
            tidy[name] = value
    return tidy


def value_of(field):
    """Strategy for one field's value."""
    type = field["type"]
    if type == "whole":
        return st.integers(int(field["low"]), int(field["high"])).map(float)
    if type == "quantity":
        return number(field)
    if type == "choice":
        return st.sampled_from([option["value"] for option in field["options"]])
    if type == "flag":
        return st.booleans()
    if type == "text":
        return st.sampled_from(["", "pump.curve", "a name of nothing"])
    if type == "table":
        return table(field)
    if type == "section":
        return values_of(field["fields"])
    raise AssertionError(f"no strategy for {type}")


def number(told):
    low, high = told["low"], told["high"]
    edges = [low, high, told.get("default", low), told.get("assumed", high)]
    return st.one_of(st.floats(low, high, allow_subnormal=False), st.sampled_from(edges))


def table(field):
    """Rows with a rising first column and, where there are two columns, a falling second: the shape of a pump curve."""
    rows = st.integers(field["rows_low"], field["rows_high"])

    def of_size(count):
        columns = [st.lists(number(column), min_size=count, max_size=count, unique=True) for column in field["columns"]]
        return st.tuples(*columns).map(lambda drawn: shape(drawn))

    def shape(columns):
        ordered = [sorted(columns[0]), *(sorted(column, reverse=True) for column in columns[1:])]
        return [list(row) for row in zip(*ordered, strict=True)]

    return rows.flatmap(of_size)
