"""Code editions and standards as data, and the lookups that cite themselves."""
