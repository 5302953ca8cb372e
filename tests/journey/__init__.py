"""Tests of the whole way, from an open page to the report."""
