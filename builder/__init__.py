"""Fleet files in, phone app out."""
