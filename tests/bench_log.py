"""What the log costs on the server as it grows; `tests/bench.py` prints these rows beside the others."""

import json
import statistics
import tempfile
import time
import tracemalloc
from pathlib import Path

from flask import Flask

from webapp.log import document, logfile, merge, sync

SIZES = (500, 5_000, 50_000)
FIELDS = 24
START = 1_700_000_000_000  # ms
REPEATS = 60


def log_rows():
    """Return rows (what, measured, budget)."""
    rows, one_edit = [], []
    for passes in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "log.json"
            write_log(path, passes)
            took, log = timed(lambda path=path: logfile.Log(path, idle=None))
            with log:
                app = Flask(__name__)
                app.register_blueprint(sync.blueprint(log))
                one_edit.append((f"one edit synced, log of {passes:,} passes", sync_one(app, log), "20 ms"))
                if passes == 5_000:
                    rows.append(("log of 5,000 passes: opened by the server", shown(took), "(in the 1.0 s)"))
                    rows.append(("  read whole: export.json", read(app, "/api/export.json"), "300 ms"))
                    rows.append(("  read whole: by sync, in pieces", by_pieces(app), ""))
                    rows.append(("  as a table: export.csv", read(app, "/api/export.csv"), ""))
                    rows.append(("  file rewritten (in the background)", rewritten(log), ""))
                    rows.append(("  memory of the records", memory(path, folder), ""))
    return rows + one_edit


def write_log(path, passes):
    """Write a log file of invented passes, in the server's own form."""
    head = {"format": document.FORMAT, "log": "bench", "era": "bench", "number": passes, "newest": merge.stamp(START + passes * 60_000)}
    path.write_bytes(b"".join(document.write(head, [(number, record(number)) for number in range(1, passes + 1)])))


def record(number):
    entries = {
        f"field_{field}": [[value(number, field), merge.stamp(START + number * 60_000, field), "d1a2b3c4d5e6"]] for field in range(FIELDS)
    }
    return json.dumps({"id": f"{number:032x}", "kind": "pass", "fields": entries}, separators=(",", ":")).encode()


def value(number, field):
    if field % 3 == 0:
        return f"words {number} and {field}"
    return {"si": (number * 31 + field * 7) % 1000 * 6894.757, "text": str((number * 31 + field * 7) % 1000), "unit": "psi"}


def timed(work):
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def shown(seconds):
    return f"{seconds * 1000:.1f} ms"


def sync_one(app, log):
    """The median and the worst time of a sync with one edit, journal synced to the disk and all."""
    server, times, passes = app.test_client(), [], len(log)
    cursor = f"{log.era}.{len(log)}"
    for number in range(REPEATS):
        edit = {
            "id": f"e{number}",
            "record": f"{1 + number * 7919 % passes:032x}",
            "kind": "pass",
            "field": "boost",
            "value": number,
            "at": merge.stamp(log.clock()[0], number),
            "device": "bench",
        }
        took, told = timed(
            lambda edit=edit, cursor=cursor: server.post("/api/sync", json={"device": "bench", "cursor": cursor, "edits": [edit]})
        )
        cursor = told.get_json()["cursor"]
        assert told.get_json()["kept"] == [f"e{number}"] and len(told.get_json()["records"]) == 1
        times.append(took)
    return f"{shown(statistics.median(times))}, worst {shown(max(times))}"


def read(app, address):
    took, _ = timed(lambda: len(app.test_client().get(address).data))
    return shown(took)


def by_pieces(app):
    def fetch():
        server, cursor, more, pieces = app.test_client(), None, True, 0
        while more:
            told = json.loads(server.post("/api/sync", json={"device": "bench", "cursor": cursor, "edits": []}).data)
            cursor, more, pieces = told["cursor"], told["more"], pieces + 1
        return pieces

    took, pieces = timed(fetch)
    return f"{shown(took)}, {pieces} pieces"


def rewritten(log):
    log._due.set()
    return shown(timed(log.fold)[0])


def memory(path, folder):
    copy = Path(folder) / "copy.json"
    copy.write_bytes(path.read_bytes())
    tracemalloc.start()
    with logfile.Log(copy, idle=None):
        held, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return f"{held / 1e6:.0f} MB, {peak / 1e6:.0f} while opening"


if __name__ == "__main__":
    for row in log_rows():
        print(*row, sep="  |  ")
