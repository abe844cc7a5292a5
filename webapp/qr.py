"""`POST /api/qr`: a text as a code for another phone's camera, as an outline to be drawn."""

from flask import Blueprint, abort, jsonify

from webapp import body

LARGEST = 27  # version of a code: beyond, a phone's screen shows its dots too small for another phone's camera
LONGEST = 3000  # characters


def blueprint():
    """Return the route. The codes come with the extra `lan`; without it the answer is 501."""
    routes = Blueprint("qr", __name__)

    @routes.post("/api/qr")
    def draw():
        text = body.read_json_object().get("text")
        if not isinstance(text, str) or not 0 < len(text) <= LONGEST:
            abort(400, f"The text must be 1 to {LONGEST} characters.")
        try:
            import segno
        except ImportError:
            abort(501, "This machine draws no codes: install overbowl[lan] on it.")
        try:
            code = segno.make(text, error="l", micro=False)
        except segno.DataOverflowError:
            abort(422, "This is too much for a code.")
        if code.version > LARGEST:
            abort(422, "This is too much for a code that a phone can read from a screen.")
        return jsonify(size=len(code.matrix), path=outline(code.matrix))

    return routes


def outline(rows):
    """The dark dots of a code as an SVG path, a piece for each run of them in a row.

    >>> outline([b"\\x01\\x01\\x00", b"\\x00\\x00\\x01"])
    'M0 0h2v1h-2zM2 1h1v1h-1z'
    """
    pieces = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            length = 0
            while x + length < len(row) and row[x + length]:
                length += 1
            if length:
                pieces.append(f"M{x} {y}h{length}v1h-{length}z")
            x += length or 1
    return "".join(pieces)
