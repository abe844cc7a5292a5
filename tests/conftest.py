"""What is so for every test."""

import signal

# A shell starts what runs in a script's background deaf to Ctrl-C, and so would be the servers that these tests stop with it.
if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
