"""Tables written as a workbook, with what people added; put in its place so that a whole book always stands there."""
