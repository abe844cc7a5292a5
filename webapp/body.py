"""Read a JSON request body, or say in one sentence what is wrong with it."""

import json

from flask import abort, request


def read_json_object():
    """Return the request's JSON object. Errors: 400, 413 or 415 with a sentence, through `abort`."""
    if request.mimetype != "application/json":
        abort(415, "Send JSON, with the content type application/json.")
    try:
        body = json.loads(request.get_data(cache=False))
    except (ValueError, RecursionError):
        abort(400, "The body is not JSON that can be read.")
    if not isinstance(body, dict):
        abort(400, "The body must be a JSON object.")
    return body
