"""The custody log: who held every piece of election material, where, in what, under which seal, and when."""
