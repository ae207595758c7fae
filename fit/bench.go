package fit

import (
	"context"

	"lastroom/device"
	"lastroom/footwear"
	"lastroom/internal/mesh"
)

// A Bench is one room made ready for trying devices in it: the room, its exact nearest-point tree and its sampled
// distance field. It is built once a room and safe for use by several goroutines.
type Bench struct {
	Room  *footwear.Room
	tree  *mesh.Tree
	field *mesh.Field
}

// NewBench prepares a room. The error is the context's, or says what is wrong with the room.
func NewBench(ctx context.Context, room *footwear.Room) (*Bench, error) {
	t := mesh.NewTree(room.Walls)
	f, err := mesh.NewField(ctx, t, mesh.FieldOptions{})
	if err != nil {
		return nil, err
	}
	return &Bench{Room: room, tree: t, field: f}, nil
}

// Tree is the exact nearest-point tree of the room's walls.
func (b *Bench) Tree() *mesh.Tree { return b.tree }

// A Foot is what is known of the foot; zero values are filled from length and sex (ANSUR II regressions).
type Foot struct {
	LengthMM       float64
	Sex            string  // "men", "women", "child": which table the defaults come from
	AnkleHeightMM  float64 // lateral malleolus height
	InstepHeightMM float64 // has no default: it does not follow from length
	BallHeightMM   float64
	ToeHeightMM    float64
	BodyMassKG     float64
}

// Check seats the device in the room and reports. It stops early when the context ends (Status Stopped, and the
// context's error).
func (b *Bench) Check(ctx context.Context, d *device.Device, foot Foot) (*Result, error) {
	panic("fit: Check")
}
