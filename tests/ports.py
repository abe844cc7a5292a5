"""Ports for servers that run as processes of their own."""

import random
import socket

# Below those that a system gives to outgoing connections (from 32768 on Linux, from 49152 by RFC 6335): none of the many that a
# browser opens takes a port between looking and listening.
FIRST, LAST = 10_000, 32_000


def free_ports(count=1, hosts=("127.0.0.1",)):
    """The first of `count` ports in a row that are free on all of `hosts`."""
    while True:
        first = random.SystemRandom().randrange(FIRST, LAST - count)
        if all(_is_free(host, port) for port in range(first, first + count) for host in hosts):
            return first


def _is_free(host, port):
    try:
        socket.create_server((host, port)).close()
    except OSError:
        return False
    return True
