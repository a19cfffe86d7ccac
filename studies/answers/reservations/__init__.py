"""Cases that neither a field nor its error estimate covers."""
