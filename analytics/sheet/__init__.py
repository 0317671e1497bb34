"""The paper for the table: its content, numbers and picture, as PDF, HTML and workbook."""
