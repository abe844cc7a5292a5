"""The boost slider under a real finger: only the thumb drags, and a scroll changes nothing."""

import base64

import pytest

from tests.browser.conftest import open_context, ready, until


@pytest.fixture
def touch(chromium, server):
    """A phone with a touch screen, with the invented car at 10 psi."""
    context = open_context(chromium, has_touch=True, is_mobile=True)
    page = ready(context.new_page(), f"{server.url}/#/supply")
    page.get_by_role("button", name="Load the invented example car").click()
    page.wait_for_selector(".key-numbers dd")
    assert boost(page) == 10
    yield page
    assert context.wrong == []
    context.close()


def boost(page):
    return float(page.locator(".slider .lead-number").inner_text())


def thumb(page):
    """Middle of the thumb, from the shares that the slider itself shows."""
    box = page.locator("#boost").bounding_box()
    share = page.locator("#boost").evaluate("(slider) => slider.value / slider.max")
    return box["x"] + 24 + share * (box["width"] - 48), box["y"] + box["height"] / 2


def finger(page, points):
    """Down at the first point, along the others, and up."""
    session = page.context.new_cdp_session(page)

    def send(kind, *at):
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in at]})

    send("touchStart", points[0])
    for point in points[1:]:
        send("touchMove", point)
        page.wait_for_timeout(16)  # as a finger moves
    send("touchEnd")


def swipe_up(x, y):
    return [(x, y - step) for step in range(0, 260, 10)]


def settle(page):
    page.evaluate("() => new Promise((done) => setTimeout(() => requestAnimationFrame(done), 60))")


@pytest.mark.parametrize("share", [0.05, 0.2, 0.85, 0.95])
def test_a_scroll_over_the_bare_track_changes_nothing(touch, share):
    box = touch.locator("#boost").bounding_box()
    finger(touch, swipe_up(box["x"] + share * box["width"], box["y"] + box["height"] / 2))
    settle(touch)
    assert boost(touch) == 10
    until(touch, "window.scrollY > 50")  # and it scrolls


def test_a_tap_on_the_bare_track_changes_nothing(touch):
    box = touch.locator("#boost").bounding_box()
    touch.touchscreen.tap(box["x"] + 0.85 * box["width"], box["y"] + box["height"] / 2)
    touch.mouse.click(box["x"] + 0.85 * box["width"], box["y"] + box["height"] / 2)
    settle(touch)
    assert boost(touch) == 10


def test_a_scroll_that_begins_on_the_thumb_puts_the_old_value_back(touch):
    x, y = thumb(touch)
    finger(touch, swipe_up(x + 20, y))
    settle(touch)
    assert boost(touch) == 10
    touch.reload()
    touch.wait_for_selector(".key-numbers dd")
    assert boost(touch) == 10


def test_a_touch_that_is_taken_away_puts_the_old_value_back(touch):
    x, y = thumb(touch)
    session = touch.context.new_cdp_session(touch)
    for kind, points in [("touchStart", [(x, y)]), *(("touchMove", [(x + step, y)]) for step in range(10, 60, 10))]:
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": one, "y": two} for one, two in points]})
    assert boost(touch) > 10
    session.send("Input.dispatchTouchEvent", {"type": "touchCancel", "touchPoints": []})
    settle(touch)
    assert boost(touch) == 10


def test_the_thumb_drags(touch):
    x, y = thumb(touch)
    finger(touch, [(x + step, y) for step in range(0, 60, 5)])
    settle(touch)
    assert boost(touch) > 11


def test_a_mouse_drags_the_thumb_too(page, server):
    ready(page, f"{server.url}/#/supply")
    page.get_by_role("button", name="Load the invented example car").click()
    page.wait_for_selector(".key-numbers dd")
    x, y = thumb(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 80, y, steps=5)
    page.mouse.up()
    settle(page)
    assert boost(page) > 11


def test_a_step_button_stays_under_the_finger(touch, server):
    """Fuel pressure at boost: the sentence above the fields grows by lines while the boost is stepped up."""
    touch.goto(f"{server.url}/#/figures/fuel-pressure")
    touch.wait_for_selector(".answer-head:not([hidden])")
    plus = touch.get_by_role("button", name="More: Boost", exact=True)
    plus.scroll_into_view_if_needed()
    box = plus.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    field = touch.get_by_label("Boost", exact=True)
    before = float(field.input_value())
    for press in range(1, 15):
        touch.touchscreen.tap(x, y)
        wanted = before + 0.5 * press
        until(touch, "(wanted) => Math.abs(document.querySelector('[data-field=boost] input').value - wanted) < 1e-9", wanted)


# What forced colours make of the picture: the share of the thumb's own box that is drawn in another colour than the paper.
INK = """async ([png, { x, y, width, height }]) => {
  const bytes = Uint8Array.from(atob(png), (letter) => letter.charCodeAt(0));
  const picture = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
  const drawing = new OffscreenCanvas(picture.width, picture.height).getContext("2d");
  drawing.drawImage(picture, 0, 0);
  const at = (left, top, wide, high) => drawing.getImageData(left, top, wide, high).data;
  const paper = at(1, 1, 1, 1);
  const dots = at(Math.round(x), Math.round(y), Math.round(width), Math.round(height));
  let drawn = 0;
  for (let i = 0; i < dots.length; i += 4) drawn += [0, 1, 2].some((n) => Math.abs(dots[i + n] - paper[n]) > 60);
  return drawn / (dots.length / 4);
}"""


def test_the_thumb_is_seen_in_the_readers_own_colours(touch):
    """WCAG 2.2, 1.4.11. Where it is: over its own middle, as broad as in our colours."""
    touch.emulate_media(forced_colors="active", color_scheme="dark")
    touch.evaluate("scrollTo(0, 0)")
    settle(touch)
    x, y = thumb(touch)
    png = base64.b64encode(touch.screenshot(scale="css")).decode()
    assert touch.evaluate(INK, [png, {"x": x - 10, "y": y - 20, "width": 20, "height": 40}]) > 0.95
    bare = touch.evaluate(INK, [png, {"x": x - 60, "y": y - 20, "width": 20, "height": 40}])
    assert 0.02 < bare < 0.2, "and so is the track beside it"
