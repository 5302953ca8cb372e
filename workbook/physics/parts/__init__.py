"""What a circuit and a lung are made of: passages, valves, the supply."""
