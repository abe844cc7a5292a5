"""A real Chromium against a real server process. Without a browser these tests are skipped, loudly; with
OVERBOWL_BROWSER=required (as in .ci/run) they fail instead."""

import os
import shutil
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import flask
import pytest

from tests.ports import free_ports
from webapp.access import background
from webapp.app import create_app
from webapp.log.logfile import Log

ROOT = Path(__file__).parent.parent.parent
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # No process in store for a page that may come: each test's profile would start one. The rest as Playwright has it, whose list this replaces.
    "--disable-features=SpareRendererForSitePerProcess,DestroyProfileOnBrowserClose,HttpsUpgrades,HttpsFirstBalancedModeAutoEnable,MediaRouter,"
    "PaintHolding,ThirdPartyStoragePartitioning,OptimizationHints,NetworkTimeServiceQuerying,PreconnectToSearch,AvoidUnnecessaryBeforeUnloadCheckSync",
]
PHONE = {"width": 360, "height": 640}
PATIENCE = 30  # seconds until a test gives up: a slow machine is no fault


def find_chromium():
    """Path of a Chromium on this machine, or None. The one without windows draws the same, in a third of the processor's time."""
    names = [os.environ.get("OVERBOWL_CHROMIUM"), "chromium-headless-shell", "chromium", "chromium-browser"]
    return next((found for name in names if name and (found := shutil.which(name))), None)


class Server:
    """The server on a thread of the tests' process, which is there at once; it can be stopped and started again on the same port."""

    def __init__(self, log, takes_sync=True):
        self.log = log
        self.takes_sync = takes_sync
        self.port = 0
        self.running = None

    @property
    def url(self):
        return f"http://127.0.0.1:{self.port}"

    def start(self):
        opened = Log(self.log)
        app = create_app({"LOG": opened})
        if not self.takes_sync:
            app.before_request(lambda: ("It takes no log.", 503) if flask.request.path == "/api/sync" else None)
        self.running = background.Server(app, "127.0.0.1", self.port, threads=4), opened
        self.port = self.running[0].port
        return self

    def stop(self):
        if self.running:
            server, opened = self.running
            self.running = None
            # Every connection ends, as it would with a process.
            waitress = server._server
            waitress.trigger.pull_trigger(lambda: [channel.handle_close() for channel in list(waitress.active_channels.values())])
            server.stop()
            opened.close()


class ProcessServer:
    """The server as the user runs it: a process of its own, that can be stopped and started again on the same port."""

    def __init__(self, log, *arguments, folder=ROOT):
        self.port = free_ports()
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = log
        self.arguments = arguments
        self.folder = folder
        self.process = None

    def start(self):
        command = [sys.executable, "-m", "webapp", "--port", str(self.port), "--log", str(self.log), *self.arguments]
        self.process = subprocess.Popen(command, cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            try:
                with urllib.request.urlopen(f"{self.url}/healthz", timeout=2):
                    return self
            except OSError:
                if self.process.poll() is not None:
                    raise RuntimeError(self.process.stderr.read().decode()) from None
                time.sleep(0.05)
        raise RuntimeError("the server did not start")

    def stop(self):
        if self.process:
            self.process.terminate()
            self.process.wait(10)
            self.process.stderr.close()
            self.process = None


@pytest.fixture(scope="session")
def chromium():
    """One browser for the run."""
    path = find_chromium()
    if path is None:
        message = "no Chromium found: the browser tests did NOT run (install chromium, or set OVERBOWL_CHROMIUM)"
        if os.environ.get("OVERBOWL_BROWSER") == "required":
            pytest.fail(message)
        pytest.skip(message)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def shared_server(tmp_path_factory):
    """A server for tests that only read: what one wrote on its phone does not come to the next one's."""
    server = Server(tmp_path_factory.mktemp("shared") / "log.json", takes_sync=False).start()
    yield server
    server.stop()


@pytest.fixture
def server(tmp_path):
    """A server of this test's own, to be stopped and started."""
    server = Server(tmp_path / "log.json").start()
    yield server
    server.stop()


# For the tests' own scripts: all modules of the page, also those that it fetches when they are wanted, and all of calc.
WHOLE_PAGE = """window.wholePage = async () => {
  const first = await import("/page.js");
  const parts = await Promise.all(first.parts.map((part) => import(part)));
  await first.m_core_compute.allOfCalc();
  return Object.assign({}, first, ...parts);
};"""


# The worker fetches all again and works out each file's digest: a sixth of what a test's page costs.
NO_WORKER = "if (navigator.serviceWorker) navigator.serviceWorker.register = () => new Promise(() => {});"


def open_context(chromium, worker=False, **options):
    """A fresh browser profile of phone size; errors on any page of it are collected in `context.wrong`.

    Without `worker` its pages are as they are before their service worker is there.
    """
    context = chromium.new_context(**{"viewport": PHONE, "reduced_motion": "reduce", **options})
    if not worker:
        context.add_init_script(NO_WORKER)
    context.set_default_timeout(PATIENCE * 1000)
    context.wrong = []
    context.on("weberror", lambda error: context.wrong.append(str(error.error)))
    context.add_init_script(WHOLE_PAGE)
    return context


@pytest.fixture
def context(chromium, request):
    """A profile of this test's own, with a service worker where the test is marked `worker`."""
    context = open_context(chromium, worker=request.node.get_closest_marker("worker") is not None)
    yield context
    wrong = context.wrong
    context.close()
    assert wrong == [], "errors on the page"


@pytest.fixture
def page(context):
    return context.new_page()


HOW_FAR = """() => JSON.stringify([document.visibilityState, document.getElementById("place")?.textContent.slice(0, 300),
  performance.now(), performance.getEntriesByType("resource").map((one) => [one.name, one.startTime, one.responseEnd, one.responseStatus])])"""


def ready(page, url):
    """Open the page and wait until it has started; where it does not, the failure tells how far it came."""
    from playwright.sync_api import TimeoutError as PlaywrightTimeoutError

    page.goto(url)
    try:
        page.wait_for_selector("html[data-started]")
    except PlaywrightTimeoutError as error:
        raise AssertionError(f"not started: {page.evaluate(HOW_FAR)}") from error
    return page


def ready_offline(page, url):
    """Open the page and wait until it says that it works offline: of a test marked `worker`."""
    ready(page, url)
    page.wait_for_selector("html[data-offline=offline-ready]")
    return page


def frames(page, count=2):
    """Let the page draw: what was waiting for the next frame is on the screen after two."""
    page.evaluate("async (count) => { for (; count; count -= 1) await new Promise((done) => requestAnimationFrame(done)); }", count)


def until(page, expression, arg=None, seconds=PATIENCE):
    """Wait until the expression is true on the page. (Playwright's own wait evaluates text in the page, which the page's policy forbids.)"""
    end = time.monotonic() + seconds
    while not page.evaluate(expression, arg):
        assert time.monotonic() < end, f"still not true: {expression} ({arg})"
        page.wait_for_timeout(20)
