"""Help for whoever writes a project folder: schema, units, first files, equipment, tables, guide."""
