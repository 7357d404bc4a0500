"""Reports: records in; one neutral document out; HTML, Markdown or PDF of it."""
