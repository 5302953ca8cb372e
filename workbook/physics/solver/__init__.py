"""The stepper and what it is made of: from one event to the next, flows in balance at the T."""
