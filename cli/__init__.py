"""The command line: arguments in, one call to the register, one screen out."""
