"""What every import shares: reading table files, previews, refused lines."""
