package device

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Data sheets: flexural modulus of polypropylene homopolymer 1.45 to 1.5 GPa, copolymer 1.3; polyamide 12 1.7 to 1.9,
// 11 1.4 to 1.6 (read). Woven carbon laminate 20 to 50 GPa (memory). EVA 200 to 300 kg/m³ at 50 to 70 Shore A (memory).
func TestMaterialsLieInTheirPublishedRanges(t *testing.T) {
	for key, band := range map[string][2]float64{
		"pp-homo": {1450, 1500}, "pp-co": {1300, 1300}, "pa12": {1700, 1900}, "pa11": {1400, 1600}, "carbon": {20000, 50000},
	} {
		m, ok := FindMaterial(key)
		assert.True(t, ok, key)
		assert.GreaterOrEqual(t, m.FlexuralMPa, band[0], key)
		assert.LessOrEqual(t, m.FlexuralMPa, band[1], key)
		assert.NotEmpty(t, m.Source)
		assert.Less(t, m.Poisson, 0.5)
	}
	assert.InDelta(t, 0.2, FoamDensityGCM3(50), 1e-12)
	assert.InDelta(t, 0.3, FoamDensityGCM3(70), 1e-12)
	_, ok := FindMaterial("lead")
	assert.False(t, ok)
}
