"""The answers to what a study asks, each in a folder of its own."""
