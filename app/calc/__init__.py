"""Every figure the shop cuts by: pure functions on exact lengths, standard library only."""
