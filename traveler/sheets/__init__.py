"""Plans and verdicts as pages: HTML, PDF, QR codes, labels."""
