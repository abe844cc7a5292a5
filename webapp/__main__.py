"""The command line: `overbowl`, or `python -m webapp`."""

import argparse
import logging
import signal
import socket
import sys
import threading
from pathlib import Path

import platformdirs

from webapp import __version__
from webapp.access import background, pairing
from webapp.access.background import Server
from webapp.app import create_app
from webapp.log import logfile, place
from webapp.log.error import LogError

PORT = 8087
KEYS = platformdirs.user_data_path("overbowl", appauthor=False) / "keys"
INSTALL_LAN = "pip install 'overbowl[lan]'"


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
    told.add_argument("--log", metavar="FILE", help=f"the pass log's file (default {place.default_path()})".replace("%", "%%"))
    doors = told.add_mutually_exclusive_group()
    doors.add_argument(
        "--lan",
        metavar="ADDRESS",
        nargs="?",
        const="",
        help=(
            "also serve phones on the local network, over HTTPS on the next port, at ADDRESS or at all addresses of this "
            f"machine; needs the extra: {INSTALL_LAN}"
        ),
    )
    doors.add_argument(
        "--behind-proxy",
        metavar="NAME",
        help=(
            "serve your own HTTPS reverse proxy, which phones reach as NAME, at --host and --port; this machine itself is "
            "then served on the next port"
        ),
    )
    told.add_argument(
        "--keys",
        metavar="FOLDER",
        type=Path,
        default=KEYS,
        help=("where certificates and the list of paired phones are kept (default %(default)s)"),
    )
    told.add_argument("--unjoined", action="store_true", help="serve the page's modules one by one, to look for a fault in them")
    told.add_argument("--version", action="version", version=f"overbowl {__version__}")
    return told


def main(arguments=None):
    """Serve until interrupted. Exit code 2 with one sentence when that cannot be."""
    told = parser()
    options = told.parse_args(arguments)
    if options.port + _further_ports(options) > 65535:
        told.error(f"--port {options.port} leaves no room for the ports after it")
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a page of many small files queues for a moment; nobody need act
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, signal.default_int_handler)  # stopped by the system is stopped all the same: the log is folded
    try:
        with logfile.Log(options.log) as log:
            return _serve_doors(options, log)
    except LogError as error:
        sys.exit(_cannot(error))


def _serve_doors(options, log):
    """Serve this machine and, where asked for, phones, all with the one log."""
    if options.lan is None and not options.behind_proxy:
        return _serve(create_app({"HOSTS": _own_names(options.host), "LOG": log, "UNJOINED": options.unjoined}), options.host, options.port)
    try:
        phones, lock = pairing.open_phones(options.keys)
    except pairing.PhonesError as error:
        sys.exit(_cannot(error))
    try:
        return _serve_phones(options, phones, log)
    finally:
        lock.release()


def _further_ports(options):
    """How many ports after --port are used as well."""
    return 2 if options.lan is not None else 1 if options.behind_proxy else 0


def _serve_phones(options, phones, log):
    """Open the door for phones, then serve this machine's own."""
    hosts = (*_own_names(options.host), *([options.behind_proxy] if options.behind_proxy else []))
    app = create_app({"HOSTS": hosts, "PHONES": phones, "LOG": log, "UNJOINED": options.unjoined})
    if options.behind_proxy:
        door, host, port = _proxy_door(options, app), "127.0.0.1", options.port + 1
    else:
        door, host, port = _network_door(options, app), options.host, options.port
    try:
        phones.tell = _say
        _show_code(phones)
        threading.Thread(target=_show_codes, args=(phones,), daemon=True).start()
        return _serve(app, host, port)
    finally:
        door.stop()


def _network_door(options, app):
    try:
        from webapp.access import lan
    except ImportError:
        sys.exit(_cannot(f"--lan needs more packages. Install them: {INSTALL_LAN}"))
    door = lan.Network(app, options.keys, options.lan, options.port + 1, options.port + 2, tell=_say)
    try:
        door.start()
    except lan.LanError as error:
        sys.exit(_cannot(error))
    _say("\n".join(door.lines()))
    return door


def _say(text):
    """Print lines, but none that the console has no letters for: a code of blocks would be a row of question marks."""
    for line in text.split("\n"):
        try:
            line.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
        except UnicodeEncodeError:
            continue
        print(line, flush=True)


def _proxy_door(options, app):
    try:
        door = Server(pairing.door(app, "proxy"), options.host, options.port, url_scheme="https")
    except (OSError, ValueError) as error:
        sys.exit(_cannot_listen(options.host, options.port, error))
    print(f"For your reverse proxy: http://{_shown_host(options.host)}:{options.port}/", flush=True)
    print(f"For phones: https://{options.behind_proxy}/", flush=True)
    return door


def _show_codes(phones):
    """A further code each time Enter is pressed."""
    if sys.stdin and sys.stdin.isatty():
        print("Press Enter for another code.", flush=True)
        for _ in sys.stdin:
            _show_code(phones)


def _show_code(phones):
    code = phones.new_code()
    print(f"Code for a new phone: {code[:4]} {code[4:]} (once, for ten minutes)", flush=True)


def _serve(app, host, port):
    """Serve this machine's own door until interrupted."""
    try:
        server = background.create(app, host, port, threads=4)
    except (OSError, ValueError, OverflowError) as error:
        sys.exit(_cannot_listen(host, port, error))
    print(f"Overbowl is at http://{_shown_host(host)}:{port}/", flush=True)
    print("Stop it with Ctrl-C.", flush=True)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
    return 0


def _cannot(error):
    print(f"overbowl: {error}", file=sys.stderr)
    return 2


def _cannot_listen(host, port, error):
    reason = getattr(error, "strerror", None) or str(error)
    return _cannot(f"cannot listen on {host} port {port}: {reason}. Is it running already? Try another --port.")


def _own_names(host):
    """This machine's names beside the loopback ones. None is looked up: a name server is another machine."""
    return host, socket.gethostname()


def _shown_host(host):
    return f"[{host}]" if ":" in host else host


if __name__ == "__main__":
    sys.exit(main())
