"""One module a chapter, each a plain function from the design to a chapter; the order is :data:`ORDER`."""
