"""From a notebook and a season to the pages, the executed notebook and the tables."""
