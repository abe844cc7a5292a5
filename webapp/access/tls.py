"""The local network's door: accepts connections, ends TLS, and passes the bytes to waitress on a loopback port.

waitress speaks no TLS. This front runs beside it in the same process, on a thread with its own event loop. It never
reads HTTP: it copies bytes both ways, so there is no second HTTP parser that could disagree with waitress about where
a request ends.

**Who asks.** waitress sees every such connection come from 127.0.0.1. `Front.clients` says whose it is: it maps the
source port of each connection to waitress, as long as it is open, to the client's address. A client cannot forge
this, for it only sends bytes; nor can another local process, for while our connection holds the port nobody else can
have it, and a port that is not in the map is refused (`webapp.access.pairing.door`). No secret and no header is involved.
And whatever comes through this door is trusted less than what comes to the machine's own door, so there is nothing to
gain by it.

**Bounds.** A connection lives as long as answers flow: it is closed when the server has said nothing for `quiet`
seconds, be the client idle or feeding a request letter by letter, and when the client takes an answer too slowly. The
number of connections is bounded, in all and for one address; over it the quietest connection of the address with the
most gives way.
"""

import asyncio
import contextlib
import socket
import ssl
import threading
from collections import Counter
from dataclasses import dataclass

CHUNK = 64 * 1024


@dataclass(frozen=True)
class Limits:
    """Bounds of a front: counts, and times in seconds."""

    connections: int = 64
    of_one_address: int = 16  # a browser opens six at most to one host
    handshake: float = 10
    quiet: float = 60
    lifetime: float = 600
    closing: float = 2


def context(server_file):
    """An SSLContext for a server, TLS 1.2 and up, of a PEM file with key and certificate."""
    made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made.minimum_version = ssl.TLSVersion.TLSv1_2
    made.options |= ssl.OP_NO_RENEGOTIATION | ssl.OP_NO_COMPRESSION
    made.set_alpn_protocols(["http/1.1"])
    made.load_cert_chain(server_file)
    return made


def listen(host, port):
    """Open listening sockets on `host`, "" for all IPv4 and IPv6 addresses of the machine. Errors: OSError."""
    if host:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        return [socket.create_server((host, port), family=family, backlog=128)]
    opened = [socket.create_server(("0.0.0.0", port), backlog=128)]
    # A machine without IPv6 is no error.
    with contextlib.suppress(OSError):
        opened.append(socket.create_server(("::", opened[0].getsockname()[1]), family=socket.AF_INET6, backlog=128))
    return opened


class _Connection:
    """One accepted connection: whose it is, its task, and when the server last said something to it."""

    def __init__(self, address, now):
        self.address = address
        self.answered = now
        self.task = None


class Front:
    """Accepts on `listeners` (sockets) and passes on to `backend`, a (host, port) on loopback.

    `clients` is the dict that says whose connection is whose. `context` is an SSLContext, or None to pass plain bytes;
    set it anew to use a new certificate for new connections. `welcome(address)` says whether an address may connect.
    """

    def __init__(self, listeners, backend, clients, context=None, limits=None, welcome=None):
        self.listeners = listeners
        self.backend = backend
        self.clients = clients
        self.context = context
        self.limits = limits or Limits()
        self.welcome = welcome or (lambda address: True)
        self._connections = set()
        self._loop = asyncio.new_event_loop()
        self._stopping = None
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run, name="front", daemon=True)

    def start(self):
        """Accept connections until `stop`."""
        self._thread.start()
        self._ready.wait()

    def stop(self):
        """Close everything. Safe to call twice."""
        if self._thread.is_alive():
            self._loop.call_soon_threadsafe(self._stopping.set)
            self._thread.join()
        for listener in self.listeners:
            listener.close()

    def open_connections(self):
        """How many connections are open."""
        return len(self._connections)

    def _run(self):
        asyncio.set_event_loop(self._loop)
        self._loop.set_exception_handler(_only_the_unexpected)
        self._loop.run_until_complete(self._accept_all())
        self._loop.run_until_complete(self._loop.shutdown_asyncgens())
        self._loop.close()

    async def _accept_all(self):
        self._stopping = asyncio.Event()
        self._ready.set()
        accepting = [asyncio.ensure_future(self._accept(listener)) for listener in self.listeners]
        await self._stopping.wait()
        tasks = accepting + [connection.task for connection in self._connections]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    async def _accept(self, listener):
        listener.setblocking(False)
        while True:
            try:
                accepted, address = await self._loop.sock_accept(listener)
            except OSError:
                # Out of file descriptors, or a client that was gone again: go on in a moment.
                await asyncio.sleep(0.1)
                continue
            client = address[0].partition("%")[0]
            if not self.welcome(client):
                accepted.close()
                continue
            self._make_room(client)
            connection = _Connection(client, self._loop.time())
            self._connections.add(connection)
            connection.task = asyncio.ensure_future(self._serve(connection, accepted))
            connection.task.add_done_callback(lambda _, gone=connection: self._connections.discard(gone))

    def _make_room(self, address):
        """Close the quietest connection of `address`, or of the address with the most, where there are too many."""
        count = Counter(connection.address for connection in self._connections)
        if count[address] < self.limits.of_one_address:
            if len(self._connections) < self.limits.connections:
                return
            address = count.most_common(1)[0][0]
        theirs = [connection for connection in self._connections if connection.address == address]
        quietest = min(theirs, key=lambda connection: connection.answered)
        quietest.task.cancel()
        self._connections.discard(quietest)

    async def _serve(self, connection, accepted):
        writers = []
        try:
            reader, writer = await self._greet(accepted)
            writers.append(writer)
            back_reader, back_writer = await asyncio.open_connection(*self.backend, limit=CHUNK)
            writers.append(back_writer)
            port = back_writer.get_extra_info("sockname")[1]
            self.clients[port] = connection.address
            try:
                await self._pass_on(connection, (reader, writer), (back_reader, back_writer))
            finally:
                del self.clients[port]
        except (OSError, asyncio.TimeoutError):
            # The client is gone, too slow, or speaks no TLS of ours (ssl.SSLError is an OSError): its own affair.
            pass
        except asyncio.CancelledError:
            # It gives way to another: at once, not politely, or those that leave would be unbounded.
            for writer in writers:
                writer.transport.abort()
            raise
        finally:
            for writer in writers:
                await self._close(writer)

    async def _greet(self, accepted):
        """The TLS handshake; plain streams without a context."""
        reader = asyncio.StreamReader(limit=CHUNK)
        protocol = asyncio.StreamReaderProtocol(reader)
        secured = {"ssl": self.context, "ssl_handshake_timeout": self.limits.handshake} if self.context else {}
        transport, _ = await self._loop.connect_accepted_socket(lambda: protocol, accepted, **secured)
        return reader, asyncio.StreamWriter(transport, protocol, reader, self._loop)

    async def _pass_on(self, connection, client, server):
        connection.answered = self._loop.time()

        def answered():
            connection.answered = self._loop.time()

        copying = [
            asyncio.ensure_future(_copy(client[0], server[1], lambda: None)),
            asyncio.ensure_future(_copy(server[0], client[1], answered)),
            asyncio.ensure_future(self._watch(connection)),
        ]
        try:
            # Whichever ends first ends the connection: HTTP needs no half-closed ones, and TLS has none here.
            await asyncio.wait(copying, timeout=self.limits.lifetime, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for task in copying:
                task.cancel()
            await asyncio.gather(*copying, return_exceptions=True)

    async def _watch(self, connection):
        """Return when the server has said nothing for too long."""
        while (left := connection.answered + self.limits.quiet - self._loop.time()) > 0:
            await asyncio.sleep(left)

    async def _close(self, writer):
        """Close politely, and soon."""
        writer.close()
        try:
            await asyncio.wait_for(writer.wait_closed(), self.limits.closing)
        except (OSError, asyncio.TimeoutError):
            pass
        finally:
            writer.transport.abort()


async def _copy(reader, writer, done):
    """Copy bytes until the end, waiting for a slow taker; `done` is called after each piece that was taken."""
    while data := await reader.read(CHUNK):
        writer.write(data)
        await writer.drain()
        done()


def _only_the_unexpected(loop, told):
    """A broken connection is no news; anything else is reported as usual."""
    if not isinstance(told.get("exception"), OSError):
        loop.default_exception_handler(told)
