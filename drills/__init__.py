"""The rooms of Readiness, and the plain-Python engine under all of them."""
