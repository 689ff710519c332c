"""What to practise: forms of drills as data, and the choice among them."""
