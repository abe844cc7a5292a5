"""The command line: one line says where it is and how to stop it; what cannot be is one sentence and exit code 2."""

import json
import signal
import socket
import subprocess
import sys
import urllib.request
import uuid
from pathlib import Path

import pytest

from tests.ports import free_ports
from webapp.__main__ import main

ROOT = Path(__file__).parent.parent


def command(*arguments):
    return subprocess.Popen(
        [sys.executable, "-m", "webapp", *arguments], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def refusal(capsys, *arguments):
    """What the command says when it does not start; asked in this process, for a new one costs a second."""
    before = signal.getsignal(signal.SIGTERM)
    try:
        with pytest.raises(SystemExit) as ended:
            main(list(arguments))
    finally:
        signal.signal(signal.SIGTERM, before)
    assert ended.value.code == 2
    return capsys.readouterr().err


@pytest.fixture
def port():
    return free_ports()


def test_says_where_it_is_and_folds_the_log_when_stopped(tmp_path, port):
    log = tmp_path / "log.json"
    process = command("--port", str(port), "--log", str(log))
    assert process.stdout.readline() == f"Overbowl is at http://127.0.0.1:{port}/\n"
    assert "Ctrl-C" in process.stdout.readline()
    edit = {
        "id": str(uuid.uuid4()),
        "record": str(uuid.uuid4()),
        "kind": "note",
        "field": "words",
        "value": "kept",
        "at": "2026-01-01T00:00:00.000Z-0000",
        "device": str(uuid.uuid4()),
    }
    body = json.dumps({"device": edit["device"], "cursor": None, "edits": [edit]}).encode()
    with urllib.request.urlopen(
        urllib.request.Request(f"http://127.0.0.1:{port}/api/sync", body, {"Content-Type": "application/json"})
    ) as response:
        assert json.load(response)["kept"] == [edit["id"]]
    process.send_signal(signal.SIGTERM)
    assert process.wait(20) == 0, process.stderr.read()
    assert '"kept"' in log.read_text(), "the file itself has what was synced"
    process.stdout.close()
    process.stderr.close()


@pytest.mark.parametrize(
    "arguments",
    [
        ["--port", "0"],
        ["--port", "x"],
        ["--port", "70000"],
        ["--none-such"],
        ["--host", "999.1.1.1"],
        ["--log", "/proc/none/such.json"],
    ],
)
def test_a_bad_option_is_one_sentence_and_exit_code_2(arguments, tmp_path, capsys):
    log = [] if "--log" in arguments else ["--log", str(tmp_path / "log.json")]
    said = refusal(capsys, *arguments, *log)
    assert said.startswith("overbowl: ") and len(said.strip().splitlines()) == 1, said


def test_a_port_in_use_is_one_sentence_and_exit_code_2(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        process = command("--port", str(taken.getsockname()[1]), "--log", str(tmp_path / "log.json"))
        _, said = process.communicate(timeout=30)
    assert process.returncode == 2
    assert said.startswith("overbowl: cannot listen on 127.0.0.1 port") and len(said.strip().splitlines()) == 1
