"""What a keeper does, one file an act: transaction, clock and device meet here; views come back."""
