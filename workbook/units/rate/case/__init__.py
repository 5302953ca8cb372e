"""What is drawn for unit 4, rate and counting: its questions, and the rhythms they play."""
