"""The calculation interface: the shop's arithmetic for other programs, stored nowhere."""
