"""The command line: one module a command of `tpiece`."""
