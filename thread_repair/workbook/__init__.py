"""The working notebook: a form for a case, with conclusion and pictures that follow each entry."""
