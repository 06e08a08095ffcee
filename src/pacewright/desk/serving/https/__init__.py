"""What is sent over the network is encrypted: the certificate, the lines, and who may come without."""
