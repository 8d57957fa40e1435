"""From a project and a rulebook to a design: the graph, the results, the findings."""
