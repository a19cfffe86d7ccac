"""The answer on laying and load tolerance."""
