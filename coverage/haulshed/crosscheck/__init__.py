"""The same questions answered another way: queueing theory, a simulation, a drill's log."""
