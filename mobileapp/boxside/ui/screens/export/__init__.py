"""Export: a season's records as files, chosen and handed on."""
