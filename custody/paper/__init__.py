"""What is printed: labels, cards, sheets for practice. It is given data and gives PDF bytes; it asks nothing of the database.

Lengths are in millimetres, as they are on paper.
"""
