"""The command line: thin modules that parse, open the store, make one call and print."""
