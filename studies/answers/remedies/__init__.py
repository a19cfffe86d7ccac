"""What would meet the limit: changes of the study, each solved."""
