"""The report and the summary: order of sections, method, assumptions, cautions."""
