"""The floor page's rarer parts, which a tablet keeps and loads only when they are asked for."""
