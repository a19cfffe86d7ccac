"""The kit of the figures: style, labels, scales, solids, the cross-section."""
