"""Keeping the record whole: checking it, copying it, bringing a copy back."""
