"""Jobs with their needs and suspects, the people who do them, and what happened on them."""
