"""What leaves the workbook for a control or another program to read."""
