"""`overbowl --lan`: the page over HTTPS for phones on the local network, and the way for a phone to trust it.

Two ports are open to the local network. One speaks HTTPS and leads through `webapp.access.tls` to waitress on a loopback port,
marked as the network's door (`webapp.access.pairing`). The other speaks plain HTTP, has no way to the application, and gives
the authority's certificate with the steps to install it. Clients from outside local networks are turned away at both.

No packet is sent to find this machine's addresses, and no other machine is ever asked for anything.

Importing this module needs the extra `lan`.
"""

import io
import ipaddress
import re
import socket
import threading

import ifaddr
import segno
from flask import Blueprint, Response, abort, jsonify

from webapp.access import authority_page, certificates, pairing, tls
from webapp.access.background import Server

DOOR = "network"
LOOK_EVERY = 60
MOST_ADDRESSES = 8
# Networks that live inside the machine: a phone is not on them, so they come last.
INNER_NETWORKS = ("br-", "docker", "lxc", "lxd", "tap", "tun", "utun", "vboxnet", "veth", "virbr", "vmnet", "wg")


class LanError(Exception):
    """The local network cannot be served; the message is one sentence for the person at the terminal."""


def own_names():
    """Host names of this machine, its own first: the name, the name under .local, and localhost."""
    label = re.sub(r"[^a-z0-9-]", "", socket.gethostname().partition(".")[0].lower()).strip("-")[:63] or "localhost"
    return list(dict.fromkeys([label, f"{label}.local", "localhost"]))


def own_addresses():
    """Addresses of this machine on local networks, as text, the likeliest one for a phone first; no loopback ones."""
    found = []
    for adapter in ifaddr.get_adapters():
        inner = adapter.nice_name.lower().startswith(INNER_NETWORKS)
        for ip in adapter.ips:
            address = ipaddress.ip_address(ip.ip if ip.is_IPv4 else ip.ip[0].partition("%")[0])
            # A link-local IPv6 address needs a zone, which a browser cannot be given.
            zoned = address.version == 6 and address.is_link_local
            if certificates.is_local(str(address)) and not address.is_loopback and not zoned:
                found.append((inner, address.version, address.is_link_local, str(address)))
    return [entry[-1] for entry in sorted(found, key=lambda entry: entry[:-1])][:MOST_ADDRESSES]


class Network:
    """All that `--lan` opens: `start`, then `stop`. `look` follows changes of addresses, names and time.

    `folder` keeps keys and certificates; `host` is the one address to serve, "" for all of the machine; `port` and
    `setup_port` are those of HTTPS and of the plain page, 0 for any free one; `tell` gets lines for the terminal.
    """

    def __init__(self, app, folder, host="", port=8088, setup_port=8089, tell=print, limits=None):
        self.app = app
        self.folder = folder
        self.host = host
        self.port = port
        self.setup_port = setup_port
        self.certificates = None
        self.addresses = []
        self._tell = tell
        self._limits = limits
        self._own_hosts = app.config["HOSTS"]
        self._front = None
        self._opened = []  # how to close what is open, in the order it was opened
        self._stopped = threading.Event()

    def start(self):
        """Open both ports. Errors: LanError, with nothing left open."""
        try:
            self._start()
        except BaseException:
            self.stop()
            raise

    def stop(self):
        """Close everything. Safe to call twice."""
        self._stopped.set()
        while self._opened:
            self._opened.pop()()

    def look(self, now=None, found=None):
        """Renew the server certificate where that is due, and use it from the next connection on.

        `now` is an aware datetime, default the clock; `found` the machine's addresses, default those it has. Returns
        whether anything changed. Errors: LanError.
        """
        addresses = [self.host] if self.host else own_addresses() if found is None else found
        names = own_names()
        try:
            made = certificates.ensure(self.folder, names, [*addresses, "127.0.0.1", "::1"], now)
        except certificates.CertificateError as error:
            raise LanError(str(error)) from error
        changed = made.new_server or addresses != self.addresses
        self.certificates, self.addresses = made, addresses
        self.app.config["HOSTS"] = (*self._own_hosts, *names, *addresses)
        if self._front and made.new_server:
            self._front.context = tls.context(made.server_file)
        return changed

    def page_addresses(self):
        """Where the page is: one address for each of the machine's addresses, and one by name."""
        return [f"https://{host}:{self.port}/" for host in self._hosts()]

    def setup_addresses(self):
        """Where a phone gets the authority's certificate, in the same order."""
        return [f"http://{host}:{self.setup_port}/" for host in self._hosts()]

    def lines(self):
        """What the terminal says: addresses, their QR codes, and the fingerprint."""
        pages, setups = self.page_addresses(), self.setup_addresses()
        said = [] if self.addresses else ["This machine is on no local network now. It looks again every minute."]
        said += ["On the local network:", *(f"  {address}" for address in pages), *qr_lines(pages[0])]
        said += ["A new phone first opens this address, and trusts this machine's authority:", f"  {setups[0]}"]
        if self.certificates.new_authority:
            said += qr_lines(setups[0])
        return [
            *said,
            "SHA-256 fingerprint of the authority:",
            f"  {self.certificates.fingerprint[:47]}",
            f"  {self.certificates.fingerprint[48:]}",
        ]

    def _hosts(self):
        shown = [f"[{address}]" if ":" in address else address for address in self.addresses]
        return [*shown, *([] if self.host else self.certificates.names)]

    def _start(self):
        if self.host and not certificates.is_local(self.host):
            raise LanError(f"{self.host} is not an address of a local network.")
        self.look()
        listeners = self._listen(self.port)
        self.port = listeners[0].getsockname()[1]
        setup_listeners = self._listen(self.setup_port)
        self.setup_port = setup_listeners[0].getsockname()[1]
        self.app.config["SETUP_PORT"] = self.setup_port
        self.app.register_blueprint(_routes(self))
        self._front = self._open(listeners, self.app, "https", tls.context(self.certificates.server_file))
        self._open(setup_listeners, authority_page.application(self), "http", None)
        threading.Thread(target=self._watch, name="network", daemon=True).start()

    def _listen(self, port):
        try:
            opened = tls.listen(self.host, port)
        except (OSError, OverflowError) as error:
            where, why = self.host or "the local network", getattr(error, "strerror", None) or error
            raise LanError(f"Cannot listen on {where} port {port}: {why}") from error
        self._opened += [listener.close for listener in opened]
        return opened

    def _open(self, listeners, application, scheme, context):
        """A front on `listeners`, and waitress behind it on a loopback port of its own."""
        clients = {}
        marked = pairing.door(application, DOOR, clients)
        server = Server(marked, "127.0.0.1", 0, url_scheme=scheme)
        self._opened.append(server.stop)
        front = tls.Front(listeners, ("127.0.0.1", server.port), clients, context, self._limits, certificates.is_local)
        front.start()
        self._opened.append(front.stop)
        return front

    def _watch(self):
        while not self._stopped.wait(LOOK_EVERY):
            try:
                if self.look():
                    self._tell("\n".join(["This machine's addresses changed.", *self.lines()]))
            except (LanError, OSError) as error:
                self._tell(f"overbowl: {error}")


def qr_lines(text):
    """A QR code as lines of block characters."""
    drawn = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(drawn, compact=True, border=2)
    return drawn.getvalue().splitlines()


def qr_svg(text):
    """A QR code as an SVG file, dark on light with its quiet zone, in bytes."""
    drawn = io.BytesIO()
    segno.make(text, error="m", micro=False).save(drawn, kind="svg", scale=8, border=4, light="#fff", xmldecl=False)
    return drawn.getvalue()


def _routes(network):
    routes = Blueprint("network", __name__)

    @routes.get("/api/network")
    def told():
        pairing.only_here()
        return jsonify(fingerprint=network.certificates.fingerprint, pages=network.page_addresses(), setups=network.setup_addresses())

    @routes.get("/api/network/<which>/<int:number>.svg")
    def drawn(which, number):
        pairing.only_here()
        addresses = {"page": network.page_addresses, "setup": network.setup_addresses}.get(which, list)()
        if number >= len(addresses):
            abort(404, "There is no such address.")
        return Response(qr_svg(addresses[number]), content_type="image/svg+xml", headers={"Cache-Control": "no-store"})

    return routes
