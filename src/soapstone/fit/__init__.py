"""Whether it clears, goes in, bolts up and comes out again."""
