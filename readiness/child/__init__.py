"""One child's page, and the evidence and forms that decide about a child."""
