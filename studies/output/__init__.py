"""What a run writes: results.json, tables, the field for viewers, figures and report, as one folder."""
