"""Entry: what the owner typed, turned into changes of files. Nothing is written here."""
