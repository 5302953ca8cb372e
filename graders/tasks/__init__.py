"""What each command does, for the command line and for other programs alike."""
