"""The port as it is: area, taper, roof, bulges, and what stands between it and the wanted port."""
