"""A backup is one file with every row and every file of the shop, free of the database it came from."""
