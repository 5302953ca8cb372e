"""Reads rule files: TOML in, rules out, every mistake at once with its place."""
