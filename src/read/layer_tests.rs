//! Layers that GDAL writes and reads again.
