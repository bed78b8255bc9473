"""Starter programmes: tasks to begin a fleet with, as hand-editable data beside this module.

Each file is copied into a fleet and belongs to the owner from then on. A figure
without a publication is marked common-practice there; a figure that only the maker
can give is left out. The data is package data, so it is read through
`importlib.resources` and not through the storage room, which reads fleets only.
"""
