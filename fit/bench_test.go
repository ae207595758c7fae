package fit

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/footwear"
)

func BenchmarkNewBench(b *testing.B) {
	s, err := footwear.Demo().Find("running-shoe")
	require.NoError(b, err)
	r, err := footwear.NewRoom(s, true)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		_, err := NewBench(context.Background(), r)
		require.NoError(b, err)
	}
}

func BenchmarkCheck(b *testing.B) {
	for _, shoe := range []string{"running-shoe", "lace-dress"} {
		b.Run(shoe, func(b *testing.B) {
			s, err := footwear.Demo().Find(shoe)
			require.NoError(b, err)
			r, err := footwear.NewRoom(s, true)
			require.NoError(b, err)
			bench, err := NewBench(context.Background(), r)
			require.NoError(b, err)
			d, err := device.Build(device.Default())
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				_, err := bench.Check(context.Background(), d, Foot{})
				require.NoError(b, err)
			}
		})
	}
}
