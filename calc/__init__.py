"""The numbers: pure functions of SI floats that import nothing but `math` and one another.

The same files run in CPython on the server and, compiled by pscript, on the phone (see `webapp/bundle.py`).
"""
