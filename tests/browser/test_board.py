"""The race-day board: the day's passes side by side, with what changed, what moves, and the jets for this air."""

import contextlib

import pytest

from calc import runs
from tests.browser.conftest import open_context, ready
from tests.browser.test_passes import PSI, made_pass, open_passes, put, quantity, wait_words, words
from tests.browser.test_recording import EXAMPLE

FUEL = [17.9, 17.2, 16.1, 14.4, 12.4]
TIMES = [10.42, 10.38, 10.44, 10.51, 10.6]


def air(hectopascal, celsius):
    return {
        "air.at": "2026-11-14T10:00",
        "air.pressure_given": "station",
        "air.humidity_given": "relative",
        "air.pressure": quantity(hectopascal * 100.0, str(hectopascal), "hPa"),
        "air.temperature": quantity(celsius + 273.15, str(celsius), "°C"),
        "air.humidity": quantity(0.4, "40", "%"),
    }


def race_day():
    """An invented day: it gets hot, and the pump gives less and less."""
    return [
        made_pass(
            n,
            build="made00000",
            boost=quantity(10 * PSI, "10", "psi"),
            fuel_pressure=quantity(FUEL[n] * PSI, str(FUEL[n]), "psi"),
            elapsed_time=quantity(TIMES[n], str(TIMES[n]), "s"),
            jet_primary=quantity(78 if n < 2 else 80, "78" if n < 2 else "80", ""),
            words="popped at half track" if n == 4 else "left lane",
            **air(985 - 40 * n, 12 + 6 * n),
        )
        for n in range(5)
    ]


@contextlib.contextmanager
def race_day_page(chromium, server, **car):
    """A phone with a car, the example's where `car` says nothing else, and its race day; no error may come up on it."""
    context = open_context(chromium)
    page = context.new_page()
    ready(page, server.url)
    put(page, [("build", {"name": "Invented", "invented": True, **page.evaluate(EXAMPLE), **car}), *race_day()])
    yield page
    wrong = context.wrong
    context.close()
    assert wrong == []


@pytest.fixture
def board(chromium, shared_server):
    with race_day_page(chromium, shared_server) as page:
        open_passes(page, shared_server)
        page.get_by_role("link", name="Board", exact=True).click()
        wait_words(page, ".board-table", "under the card")
        yield page


def row(page, label):
    return [
        words(cell)
        for cell in page.locator(".board-table tr", has=page.get_by_role("rowheader", name=label, exact=True)).locator("td").all()
    ]


def test_the_day_stands_side_by_side(board):
    assert [words(head).split("\n")[0] for head in board.locator("thead th").all()][:5] == [f"Run {n}" for n in (5, 4, 3, 2, 1)]
    assert board.locator(".marked").count() == 1 and row(board, "Fuel pressure at peak")[0].startswith("12.4 psi")
    changed = [words(one) for one in board.locator(".board-table strong.change").all()]
    assert changed == ["80"] and row(board, "Primary main jets")[2] == "80"
    # Theil and Sen's slope, as tests/test_runs.py holds it to scipy's.
    fallen = runs.trend({"x": [0, 1, 2, 3, 4], "y": [reading - 10 for reading in FUEL]})["robust_slope"]
    assert row(board, "Fuel less boost")[-1].startswith(f"−{-fallen:.1f} psi")
    assert "Fuel pressure less boost falls" in words(board.locator(".board"))
    assert row(board, "Time")[0] == "10.600 s", "the newest pass's air is the one that all are brought to"
    assert float(row(board, "Time")[4].split()[0]) > 10.6, "the first pass loses the cool morning's air"
    board.set_viewport_size({"width": 320, "height": 640})
    assert board.evaluate("document.documentElement.scrollWidth") <= 320
    board.set_viewport_size({"width": 1280, "height": 800})
    assert board.evaluate("(({ scrollWidth, clientWidth }) => scrollWidth - clientWidth)(document.querySelector('.board .scroll'))") <= 1


def test_jets_are_held_against_the_pass_where_they_were_right(board):
    assert "Say under the board" in words(board.locator(".board-jets"))
    board.get_by_label("Jets were right on").select_option(label="Run 1, Sat 14 Nov 2026")
    wait_words(board, ".board-jets", "One size smaller")
    told = words(board.locator(".board-jets"))
    assert "Smaller is leaner" in told and "Run 5 had others in (primary main jets 80)" in told
    board.get_by_label("In the air of").select_option(label="Run 1")
    wait_words(board, ".board-jets", "● Leave")
    assert row(board, "Time")[4] == "10.420 s"
    held = row(board, "Time")[0]
    board.get_by_label("The car holds").select_option(label="the same pressure ratio")
    board.wait_for_function("(held) => !document.querySelector('.board-table').innerText.includes(held)", arg=held.replace(" ", "\u00a0"))
    assert float(row(board, "Time")[0].split()[0]) < float(held.split()[0]), "more boost in the dense air of the morning"
