package device

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryBuildIsClosedAndOriented(t *testing.T) {
	for _, build := range []string{Block, Flat, Open, ForeBar} {
		t.Run(build, func(t *testing.T) {
			o := Default()
			o.WedgeBuild = build
			d, err := Build(o)
			require.NoError(t, err)
			require.NoError(t, d.Rigid.Validate())
			require.NoError(t, d.Rigid.Closed())
			assert.Positive(t, d.Rigid.Volume())
		})
	}
}
