"""The only room that touches the disk: find, read, lock, write, keep a journal."""
