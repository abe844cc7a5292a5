"""The linter finds nothing, and the formatter has nothing to change."""

import subprocess
import sys
from pathlib import Path


def test_ruff_finds_nothing():
    done = subprocess.run([sys.executable, "-m", "ruff", "check", "."], cwd=Path(__file__).parent.parent, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def test_ruff_would_format_nothing():
    done = subprocess.run(
        [sys.executable, "-m", "ruff", "format", "--check", "."], cwd=Path(__file__).parent.parent, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout
