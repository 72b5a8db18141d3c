"""What is published from the rule files: the A to Z, the guide, the bin tag, the council's page."""
