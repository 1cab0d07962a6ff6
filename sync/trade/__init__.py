"""Trade calculations: pure, one file a subject, each formula with its units, domain and source."""
