"""The words of findings, in plain language and marked for translation. The domain carries message ids; this turns them into text.

One module per family of rules, each with a table `MESSAGES`: message id to (what is so, what to do next). The id is the code of
the rule, or `code.variant`. Texts are filled in with the finding's `params`. They never say "fraud" or "tampering": most of what
the record finds is an honest slip at the end of a long day.
"""
