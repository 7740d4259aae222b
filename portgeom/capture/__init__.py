"""From what was measured to outlines and sections: images of slices, drawings, scans, filled-in sheets."""
