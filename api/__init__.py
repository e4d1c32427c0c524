"""The HTTP interface under `/api/v1/`: JSON in, JSON out, over the same services and queries as the pages."""
