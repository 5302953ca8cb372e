"""How good the questions are, and whether they are equally hard for everybody."""
