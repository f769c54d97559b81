"""The live walk: the page served on this machine alone, made anew while its design file is being changed."""
