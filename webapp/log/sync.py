"""Where logs meet: `POST /api/sync`, and the whole log to take away, as JSON and as a table."""

import datetime
import json

from flask import Blueprint, Response, jsonify
from werkzeug.exceptions import HTTPException

from webapp import body
from webapp.log import merge, shapes, sheet
from webapp.log.error import LogError

LARGEST_BODY = 256 * 1024
MOST_EDITS = 500
_KEYS = {"device", "cursor", "edits"}


def blueprint(log):
    """Return the routes over an open `webapp.log.logfile.Log`."""
    routes = Blueprint("sync", __name__)

    @routes.record_once
    def bound_bodies(state):
        if state.app.config["MAX_CONTENT_LENGTH"] is None:
            state.app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY

    @routes.errorhandler(LogError)
    def say(error):
        return jsonify(errors={"log": [str(error)]}), 503

    @routes.errorhandler(HTTPException)
    def refuse(error):
        return jsonify(errors={"form": [error.description]}), error.code

    @routes.post("/api/sync")
    def sync():
        asked = body.read_json_object()
        errors = _check(asked)
        if errors:
            return jsonify(errors=errors), 422
        edits, unfit = _read_edits(asked.get("edits", []))
        kept, refused = log.apply(edits)
        now, latest = log.clock()
        cursor, records, more = log.changes(asked.get("cursor"))
        head = {"era": log.era, "cursor": cursor, "more": more, "now": now, "latest": latest, "kept": kept, "refused": unfit + refused}
        return _fresh(_with_records(head, records), "application/json")

    @routes.get("/api/export.json")
    def export_json():
        return _download(log.export(), "application/json", "json")

    @routes.get("/api/export.csv")
    def export_csv():
        return _download(sheet.passes(log.snapshot()), "text/csv; charset=utf-8", "csv")

    return routes


def _check(asked):
    """Return what is wrong with a request as a whole, {} where nothing is."""
    errors = {}
    for key in sorted(set(asked) - _KEYS, key=str):
        errors[key[:40].encode(errors="replace").decode()] = ["There is no such field; use device, cursor and edits."]
    if not merge.is_name(asked.get("device")):
        errors["device"] = ["Name the device with 1 to 40 small letters, digits and hyphens."]
    cursor = asked.get("cursor")
    if cursor is not None and not (isinstance(cursor, str) and len(cursor) <= 80):
        errors["cursor"] = ["The cursor is null, or the text that the last answer gave."]
    edits = asked.get("edits", [])
    if not isinstance(edits, list) or len(edits) > MOST_EDITS:
        errors["edits"] = [f"The edits are a list of {MOST_EDITS} at most."]
    elif not all(isinstance(edit, dict) and merge.is_name(edit.get("id")) for edit in edits):
        # What has no id cannot be named in the answer either.
        errors["edits"] = ["Every edit needs an id of 1 to 40 small letters, digits and hyphens."]
    return errors


def _read_edits(raw_edits):
    """Return (edits that can be merged, refused)."""
    edits, refused = [], []
    for raw in raw_edits:
        try:
            edit = merge.read_edit(raw)
            reason = shapes.why_not(edit["kind"], edit["field"], edit["value"])
        except ValueError as error:
            reason = str(error)
        if reason:
            refused.append({"id": raw["id"], "code": "unfit", "why": reason})
        else:
            edits.append(edit)
    return edits, refused


def _with_records(head, records):
    """Write the answer around the records' own texts, which need no parsing."""
    return json.dumps(head).encode()[:-1] + b', "records": [' + b",\n".join(records) + b"]}"


def _fresh(content, kind):
    response = Response(content, content_type=kind)
    response.headers["Cache-Control"] = "no-store"
    return response


def _download(content, kind, ending):
    response = _fresh(content, kind)
    day = datetime.date.today().isoformat()
    response.headers["Content-Disposition"] = f'attachment; filename="overbowl-log-{day}.{ending}"'
    return response
