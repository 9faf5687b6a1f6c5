"""Between revisions of the formulary and the workbook that the engine reads and writes."""
