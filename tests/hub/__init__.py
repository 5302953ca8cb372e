"""Tests of a course on a hub."""
