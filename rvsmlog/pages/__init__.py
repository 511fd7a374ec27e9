"""Pages: files that open in a browser without a network, made to be read, printed and handed on."""
