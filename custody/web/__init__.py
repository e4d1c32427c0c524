"""The pages: thin views over queries and services, and the words and pictures that they are shown in."""
