"""One child's page, and what is done there."""
