package footwear

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDemoShoes(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			assert.Empty(t, s.Validate())
			for _, n := range s.BandNotes() {
				assert.NotEmpty(t, n.Reason, n.String())
			}
			for step := -3.0; step <= 3; step += 0.5 {
				for _, geometric := range []bool{false, true} {
					to := s.Size
					to.Value += step
					_, err := s.Graded(to, GradeOptions{Geometric: geometric})
					assert.NoError(t, err)
				}
			}
		})
	}
}
