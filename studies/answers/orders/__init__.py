"""Phase orders, judged by the thousand from one solution."""
