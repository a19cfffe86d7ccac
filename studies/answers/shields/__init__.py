"""Which shield meets the limits with the least mass or loss."""
