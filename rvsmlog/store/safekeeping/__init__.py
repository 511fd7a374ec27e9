"""What keeps a store evidence: verification, seals, backups, exchanged files, the schema."""
