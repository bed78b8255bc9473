#!/bin/sh
# G: one event that lies on the disk goes into history, flushed as hard as the program does it.
set -e
cd "$1"
plain() {
    git -c core.fsync=all -c core.fsyncMethod=fsync -c gc.auto=0 -c maintenance.auto=false "$@"
}
plain add -- "$2"
plain commit --quiet -m "Record flights"
