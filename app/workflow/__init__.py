"""What the shop may do next: pure rules on facts, without a database or a framework."""
