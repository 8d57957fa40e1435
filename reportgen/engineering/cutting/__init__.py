"""Wire before the pull: lengths to cut, labels, the spools to buy and the order of cuts."""
