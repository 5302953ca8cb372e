"""A course for many accounts of one machine: JupyterHub, its settings, and a guarded exchange."""
