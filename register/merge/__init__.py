"""Merging what several machines wrote: pure, and the same whichever machine does it.

Bytes of a common past and of two sides in, bytes and clashes out. A clash is data: the value
that stands meanwhile is chosen by a fixed rule, both values are kept, and one command settles it.
"""
