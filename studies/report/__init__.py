"""The report: blocks that know no physics, their rendering as HTML, and the contents that a result gives them."""
