"""The page of past records: a file to look at, and taking it. What a row means is said below, in
`competency.past`; here it is shown."""
