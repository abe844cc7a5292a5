"""Who may connect: this machine itself, and phones that were paired with a code.

Three doors lead to the application. Through the machine's own door (plain HTTP, no mark in the WSGI environ) a
request is trusted if it comes from a loopback address, asks for a loopback name (a name that others can answer for,
such as the machine's own, could be rebound to it) and was not passed on by a proxy. Through the door of the local
network and that of a reverse proxy nobody is trusted: `door` marks such requests in the environ, where no client can
reach. Marks, forwarding headers and addresses can only ever lower trust.

Whoever is not trusted needs a token, except for the page itself (`open_paths`: the files the phone keeps to work
offline, and /healthz; the same bytes for everybody) and for GET and POST /api/pairing. A token is 32 random bytes;
the server keeps its SHA-256 (a random token needs no slow hash), the phone keeps it in a cookie that no script can
read. An installed page may have a cookie jar of its own: then the code is typed there, and that is a phone of its own
in the list.

A code has eight digits, works once and for ten minutes, and is only in memory. A wrong one makes its sender wait,
twice as long each time, and twenty wrong ones together end the code: one guess in five million.
"""

import contextlib
import hashlib
import hmac
import ipaddress
import json
import math
import secrets
import socket
import threading
import time

from filelock import FileLock, Timeout
from flask import Blueprint, abort, current_app, g, jsonify, request

from webapp import body
from webapp.access import guard, private

DOOR = "overbowl.door"
COOKIE = "__Host-overbowl"
COOKIE_LIFE = 400 * 24 * 3600  # browsers cap it there (RFC 6265bis, 5.5; from memory); each sync renews it
CODE_DIGITS = 8
CODE_LIFE = 600
WRONG_TRIES = 20
LONGEST_WAIT = 60
MOST_PHONES = 32
MOST_SOURCES = 256
LONGEST_NAME = 40
FORMAT = 1


class PhonesError(Exception):
    """The file of paired phones cannot be used; the message is one sentence for the person at the terminal."""


class Refused(Exception):
    """A code was not taken: one sentence, the seconds to wait before the next try, and the HTTP status."""

    def __init__(self, sentence, wait=0, status=403):
        super().__init__(sentence)
        self.sentence = sentence
        self.wait = wait
        self.status = status


class Phones:
    """The paired phones, in the file `path` or in memory only, and the code that waits for one.

    `clock` gives seconds for codes and waits, `today` seconds since 1970 for the list. Several threads may use it.
    """

    def __init__(self, path=None, clock=time.monotonic, today=time.time):
        self.path = path
        self._clock = clock
        self._today = today
        self._lock = threading.Lock()
        self._phones = _read(path) if path and path.exists() else {}
        self._code = None
        self._code_ends = 0
        self._tries_left = 0
        self._wrong = {}
        self._ended = None  # why the last code is over, as a sentence
        self.tell = lambda sentence: None  # for the terminal

    def new_code(self):
        """Make the code for the next phone; a code that still waited is over. Returns its digits."""
        with self._lock:
            self._code = f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}d}"
            self._code_ends = self._clock() + CODE_LIFE
            self._tries_left = WRONG_TRIES
            self._ended = None
            return self._code

    def code_ended(self):
        """Why the code that was shown last is over, as a sentence; None while it waits, or where there was none."""
        with self._lock:
            if self._code is not None and self._clock() >= self._code_ends:
                return "The code is over: it was not used within ten minutes."
            return self._ended

    def pair(self, code, name, address, old_token=None):
        """Pair a phone that sent `code` from `address`; returns (token, phone). `old_token` is the one it gives up.

        Errors: Refused for a wrong, used or late code, for a try too soon after a wrong one, and when the list is full.
        """
        with self._lock:
            source = _source(address)
            self._refuse_if_too_soon(source)
            if not self._is_right(code):
                self._count_wrong(source)
                wait = self._wait(source)
                raise Refused("This code is not right, or it is over: a code works once, for ten minutes.", wait)
            old = self._phones.get(_hash(old_token or ""))
            if old is None and len(self._phones) >= MOST_PHONES:
                raise Refused(f"There are {MOST_PHONES} phones already. Remove one on the machine first.")
            token = secrets.token_urlsafe(32)
            phone = {"id": secrets.token_hex(8), "name": name, "paired": int(self._today()), "last_sync": None}
            kept = {hash: known for hash, known in self._phones.items() if known is not old}
            self._keep({**kept, _hash(token): phone})
            self._code, self._ended = None, "A phone was paired with this code."
            self._wrong.pop(source, None)
            return token, dict(phone)

    def with_token(self, token):
        """The phone that holds `token`, or None."""
        with self._lock:
            phone = self._phones.get(_hash(token))
            return dict(phone) if phone else None

    def listed(self):
        """All phones, the one that synced last first."""
        with self._lock:
            phones = [dict(phone) for phone in self._phones.values()]
        return sorted(phones, key=lambda phone: phone["last_sync"] or phone["paired"], reverse=True)

    def remove(self, id):
        """Forget a phone; its token is worth nothing from now on. False if there is none with this id."""
        with self._lock:
            kept = {hash: phone for hash, phone in self._phones.items() if phone["id"] != id}
            found = len(kept) < len(self._phones)
            if found:
                self._keep(kept)
            return found

    def saw_sync(self, id):
        """Note that a phone synced just now. Kept in the file once a minute at most."""
        with self._lock:
            now = int(self._today())
            for phone in self._phones.values():
                if phone["id"] == id:
                    due = phone["last_sync"] is None or abs(now - phone["last_sync"]) >= 60
                    phone["last_sync"] = now
                    # A full disk must not fail the sync that was kept just before.
                    with contextlib.suppress(OSError):
                        if due:
                            self._keep(self._phones)

    def _is_right(self, code):
        waits = self._code is not None and self._clock() < self._code_ends
        return waits and hmac.compare_digest(code.encode(), self._code.encode())

    def _wait(self, source):
        return max(0, math.ceil(self._wrong[source][1] - self._clock())) if source in self._wrong else 0

    def _refuse_if_too_soon(self, source):
        wait = self._wait(source)
        if wait:
            raise Refused(f"Too soon after a wrong code. Try again in {wait} s.", wait, 429)

    def _count_wrong(self, source):
        self._tries_left -= 1
        if self._tries_left <= 0 and self._code is not None:
            self._code, self._ended = None, f"{WRONG_TRIES} wrong codes were tried, so this code is over. Show another when you need one."
            self.tell(self._ended)
        count = self._wrong.pop(source, (0, 0))[0]
        self._wrong[source] = (count + 1, self._clock() + min(2**count, LONGEST_WAIT))
        while len(self._wrong) > MOST_SOURCES:
            del self._wrong[next(iter(self._wrong))]

    def _keep(self, phones):
        """Write first, then believe: what cannot be kept was not paired, what cannot be removed is still in."""
        if self.path:
            told = {"format": FORMAT, "phones": [{**phone, "token_sha256": hash} for hash, phone in phones.items()]}
            private.write(self.path, json.dumps(told, indent=1).encode())
        self._phones = phones


def open_phones(folder):
    """The phones kept in `folder`, and the lock that keeps other processes out until it is released.

    Errors: PhonesError.
    """
    lock = FileLock(folder / "lock", timeout=0)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        lock.acquire()
    except Timeout:
        raise PhonesError(f"Another overbowl uses the keys in {folder}. Stop it, or give another --keys.") from None
    except OSError as error:
        raise PhonesError(f"The keys cannot be kept in {folder}: {error.strerror or error}.") from error
    try:
        return Phones(folder / "phones.json"), lock
    except PhonesError:
        lock.release()
        raise


def door(app, name, clients=None):
    """Wrap a WSGI application: what comes this way is marked as coming through the door `name`.

    `clients` maps source ports to the clients' addresses (`webapp.access.tls.Front.clients`); a request from a port that is
    not in it came past the front, from another program on this machine, and is refused.
    """

    def marked(environ, start_response):
        if clients is not None:
            address = clients.get(int(environ["REMOTE_PORT"]))
            if address is None:
                start_response("403 Forbidden", [("Content-Type", "text/plain")])
                return [b"This port is for the program's own use.\n"]
            environ["REMOTE_ADDR"] = address
        environ[DOOR] = name
        return app(environ, start_response)

    return marked


def protect(app, phones, open_paths):
    """Ask whoever is not trusted for a token on `app`, except for GET on `open_paths`; and add the pairing routes."""
    open_paths = frozenset(open_paths)

    @app.before_request
    def _check():
        g.phone = None
        token = request.cookies.get(COOKIE)
        if token:
            g.phone = phones.with_token(token)
        if request.path == "/api/pairing" or (request.path in open_paths and request.method in ("GET", "HEAD")):
            return
        if not is_here() and g.phone is None:
            abort(401, "This phone is not paired. Enter the code that the machine shows, on the Settings screen.")
        if not guard.same_origin():
            abort(403, "Requests from other sites are refused.")

    @app.after_request
    def _note(response):
        if response.status_code == 401:
            response.headers["WWW-Authenticate"] = "Pairing"
        if g.get("phone") and response.status_code == 200 and (request.method, request.path) == ("POST", "/api/sync"):
            phones.saw_sync(g.phone["id"])
            _give(response, request.cookies[COOKIE])
        return response

    app.register_blueprint(_routes(phones))


def is_here():
    """True for a request that this machine itself makes, through its own door and under a loopback name."""
    names = [name.lower() for name, _ in request.headers]
    passed_on = any(name in ("forwarded", "x-real-ip", "via") or name.startswith("x-forwarded") for name in names)
    host = guard.host_name(request.headers.get("Host", ""))
    own = DOOR not in request.environ and not passed_on
    return own and _is_loopback(request.remote_addr or "") and (host == "localhost" or _is_loopback(host))


def only_here():
    """Refuse a phone what only the machine itself may do."""
    if not is_here():
        abort(403, "Only the machine itself may do this.")


def _routes(phones):
    routes = Blueprint("pairing", __name__)

    @routes.get("/api/pairing")
    def state():
        # The plain port is only for a phone that must still learn to trust the machine; lan sets it.
        return jsonify(
            here=is_here(),
            phone=g.phone,
            machine=socket.gethostname(),
            codes=phones.path is not None,
            setup_port=current_app.config.get("SETUP_PORT"),
        )

    @routes.post("/api/pairing")
    def pair():
        if DOOR not in request.environ:
            abort(403, "A phone pairs over HTTPS only: start with overbowl --lan, and open the address that it prints.")
        code, name = _code_and_name(body.read_json_object())
        try:
            token, phone = phones.pair(code, name, request.remote_addr or "", request.cookies.get(COOKIE))
        except Refused as refused:
            response = jsonify(errors={"code": [refused.sentence]})
            response.status_code = refused.status
            if refused.wait:
                response.headers["Retry-After"] = refused.wait
            return response
        except OSError as error:
            abort(503, f"The phone could not be kept: {error.strerror or error}.")
        return _give(jsonify(phone=phone), token)

    @routes.get("/api/phones")
    def listed():
        only_here()
        return jsonify(phones=phones.listed(), code_ended=phones.code_ended())

    @routes.post("/api/phones/code")
    def code():
        only_here()
        body.read_json_object()
        return jsonify(code=phones.new_code(), seconds=CODE_LIFE)

    @routes.delete("/api/phones/<id>")
    def remove(id):
        only_here()
        try:
            if not phones.remove(id):
                abort(404, "There is no such phone.")
        except OSError as error:
            abort(503, f"The phone could not be removed: {error.strerror or error}.")
        return "", 204

    return routes


def _code_and_name(told):
    """The code's digits and the phone's name out of a request body; aborts with 400 or 422 and a sentence."""
    if set(told) != {"code", "name"}:
        abort(400, 'The body must be an object with "code" and "name".')
    code, name = told["code"], told["name"]
    digits = "".join(code.split()).replace("-", "") if isinstance(code, str) else ""
    if not (len(digits) == CODE_DIGITS and digits.isascii() and digits.isdigit()):
        abort(422, f"The code has {CODE_DIGITS} digits.")
    name = name.strip() if isinstance(name, str) else ""
    if not (1 <= len(name) <= LONGEST_NAME and name.isprintable()):
        abort(422, f"Give the phone a name of 1 to {LONGEST_NAME} letters.")
    return digits, name


def _give(response, token):
    response.set_cookie(COOKIE, token, max_age=COOKIE_LIFE, path="/", secure=True, httponly=True, samesite="Strict")
    return response


def _hash(token):
    return hashlib.sha256(token.encode(errors="replace")).hexdigest()


def _is_loopback(text):
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return False
    return (getattr(address, "ipv4_mapped", None) or address).is_loopback


def _source(address):
    """Whom a wrong try is counted against: an address, or the whole network that one IPv6 subscriber has."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return address
    return str(ipaddress.ip_network((found, 64), strict=False)) if found.version == 6 else address


def _read(path):
    """The phones in a file by their token's hash. Errors: PhonesError; such a file is never overwritten."""
    try:
        told = json.loads(private.read(path))
        if told["format"] != FORMAT:
            raise ValueError
        return {phone.pop("token_sha256"): _phone(phone) for phone in told["phones"]}
    except OSError as error:
        raise PhonesError(f"The list of phones {path} cannot be read: {error.strerror or error}.") from error
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise PhonesError(f"The list of phones {path} is damaged. Delete it and pair the phones again.") from error


def _phone(told):
    last_sync = told["last_sync"]
    return {
        "id": str(told["id"]),
        "name": str(told["name"]),
        "paired": int(told["paired"]),
        "last_sync": None if last_sync is None else int(last_sync),
    }
