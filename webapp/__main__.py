"""The command line: `overbowl`, or `python -m webapp`."""

import argparse
import logging
import socket
import sys

import waitress

from webapp import __version__
from webapp.app import create_app

PORT = 8087


class _Parser(argparse.ArgumentParser):
    def error(self, message):
        """One sentence, and exit with 2."""
        self.exit(2, f"overbowl: {message}. Try overbowl --help.\n")


def _port(text):
    try:
        port = int(text)
    except ValueError:
        port = -1
    if not 1 <= port <= 65535:
        raise argparse.ArgumentTypeError(f"{text} is not a port; use a number from 1 to 65535")
    return port


def parser():
    told = _Parser(prog="overbowl", description="Offline field companion for carburetted engines under boost.")
    told.add_argument("--host", default="127.0.0.1", help="address to listen on (default 127.0.0.1)")
    told.add_argument("--port", type=_port, default=PORT, help=f"port to listen on (default {PORT})")
    told.add_argument("--log", metavar="FILE", help="the pass log's file")
    told.add_argument("--version", action="version", version=f"overbowl {__version__}")
    return told


def main(arguments=None):
    """Serve until interrupted. Exit code 2 with one sentence when that cannot be."""
    options = parser().parse_args(arguments)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a page of many small files queues for a moment; nobody need act
    app = create_app({"HOSTS": _own_names(options.host)})
    try:
        server = waitress.create_server(app, host=options.host, port=options.port, ident=None, threads=4)
    except (OSError, ValueError) as error:
        sys.exit(_cannot_listen(options, error))
    print(f"Overbowl is at http://{_shown_host(options.host)}:{options.port}/", flush=True)
    print("Stop it with Ctrl-C.", flush=True)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
    return 0


def _cannot_listen(options, error):
    reason = getattr(error, "strerror", None) or str(error)
    print(f"overbowl: cannot listen on {options.host} port {options.port}: {reason}. Is it running already? Try another --port.", file=sys.stderr)
    return 2


def _own_names(host):
    """This machine's names beside the loopback ones; all of its addresses when it listens on all."""
    names = {host, socket.gethostname()}
    if host in ("0.0.0.0", "::", ""):
        try:
            names |= {found[4][0] for found in socket.getaddrinfo(socket.gethostname(), None)}
        except OSError:
            pass
    return tuple(names)


def _shown_host(host):
    return f"[{host}]" if ":" in host else host


if __name__ == "__main__":
    sys.exit(main())
