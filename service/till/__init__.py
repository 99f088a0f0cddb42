"""What a till exports: rows of sales in CSV, XLSX or JSON, read as price lists are; nothing stored, no HTTP."""
