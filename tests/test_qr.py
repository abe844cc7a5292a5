"""A text as a code: drawn by segno, held against what segno itself says is dark."""

import re

import segno

from webapp.app import create_app


def ask(text):
    return create_app().test_client().post("/api/qr", json={"text": text})


def test_the_outline_covers_the_dark_dots_and_no_other():
    told = ask("https://overbowl.example/#/build/hand/abc").get_json()
    dark = set()
    for x, y, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", told["path"]):
        dark |= {(int(x) + n, int(y)) for n in range(int(length))}
    rows = segno.make("https://overbowl.example/#/build/hand/abc", error="l", micro=False).matrix
    assert dark == {(x, y) for y, row in enumerate(rows) for x, dot in enumerate(row) if dot}
    assert told["size"] == len(rows)


def test_what_does_not_fit_is_said():
    assert ask("x" * 2900).status_code == 422 and "too much" in ask("x" * 2900).get_json()["errors"]["form"][0]
    assert ask("").status_code == 400 and ask(7).status_code == 400
