"""Making block-outs: plans on the squares, walls, roofs."""
