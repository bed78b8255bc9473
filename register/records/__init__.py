"""Records: frozen values built from checked nodes, every problem gathered.

One module per kind of file. Nothing here reads a disk, a clock or a terminal.
"""
