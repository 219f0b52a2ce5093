"""Open records and the answers to them: what each is called, what it could have fed, what a person decided."""
