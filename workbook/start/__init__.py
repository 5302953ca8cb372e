"""Opening the workbook: a course as it was given out, and JupyterLab started on it."""
