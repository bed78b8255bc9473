"""What the workshop computes: throws, rods, fasteners, balance, leaks, cures, worklists."""
