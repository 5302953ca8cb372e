"""The graders: what turns answers into verdicts, and verdicts into what a coordinator needs."""
