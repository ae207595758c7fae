// Package mesh has triangle meshes and what is asked of them: their measures, files (STL), plane sections, exact
// nearest points with a signed distance, and the same distance sampled on a grid.
package mesh
