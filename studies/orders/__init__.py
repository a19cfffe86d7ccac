"""Which phase lies where: every order judged from one solve, the best one confirmed by a full solve."""
