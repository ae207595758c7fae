package device

import (
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryOptionHasItsKey(t *testing.T) {
	ty := reflect.TypeFor[Options]()
	require.Len(t, Keys(), ty.NumField())
	seen := map[any]string{}
	for i := range ty.NumField() {
		name := ty.Field(i).Tag.Get("json")
		k, ok := FindKey(name)
		require.True(t, ok, name)
		o := Options{}
		field := reflect.ValueOf(&o).Elem().Field(i).Addr().Interface()
		if k.IsNumber() {
			assert.Same(t, field, k.number(&o), name)
		} else {
			assert.Same(t, field, k.word(&o), name)
		}
		assert.Empty(t, seen[name])
		seen[name] = name
	}
}

func TestKeysDescribeThemselves(t *testing.T) {
	def := Default()
	for _, k := range Keys() {
		assert.NotEmpty(t, k.Name, k.Key)
		assert.NotEmpty(t, k.Group, k.Key)
		assert.True(t, strings.HasSuffix(k.Help, "."), "%s: help is sentences", k.Key)
		assert.NotEmpty(t, k.Limits(), k.Key)
		if k.IsNumber() {
			assert.NotEmpty(t, k.Unit, k.Key)
			assert.Less(t, k.Min, k.Max, k.Key)
			assert.Positive(t, k.Step, k.Key)
			for unit, ending := range map[string]string{"mm": "_mm", "°": "_deg", "%": "_percent", "Shore A": "_shore_a"} {
				assert.Equal(t, k.Unit == unit, strings.HasSuffix(k.Key, ending), "%s in %s", k.Key, k.Unit)
			}
		} else {
			assert.Contains(t, k.Choices, def.Get(k.Key))
		}
	}
	assert.Empty(t, def.Validate())
}

func TestNamesThatOthersRelyOn(t *testing.T) {
	for _, name := range []string{
		"wedge_build", "wedge_length_mm", "bevel_medial_deg", "bevel_lateral_deg", "bevel_back_deg", "contact_angle_deg",
		"motion_deg", "shell_thickness_mm", "cup_depth_mm", "heel_raise_mm", "cover_heel_mm", "foot_length_mm",
	} {
		_, ok := FindKey(name)
		assert.True(t, ok, name)
	}
}

func TestSetTakesWhatGetGives(t *testing.T) {
	for _, k := range Keys() {
		values := k.Choices
		if k.IsNumber() {
			values = []string{
				strconv.FormatFloat(k.Min, 'g', -1, 64), strconv.FormatFloat(k.Max, 'g', -1, 64),
				strconv.FormatFloat(k.Min+(k.Max-k.Min)/3, 'g', -1, 64),
			}
		}
		for _, v := range values {
			o := Default()
			require.NoError(t, o.Set(k.Key, v))
			assert.Equal(t, v, o.Get(k.Key), k.Key)
			back := Default()
			require.NoError(t, back.Set(k.Key, o.Get(k.Key)))
			assert.Equal(t, o, back)
		}
	}
}

func TestSetTakesUnits(t *testing.T) {
	o := Default()
	for _, s := range []string{"31", " 31 mm ", "31mm"} {
		require.NoError(t, o.Set("arch_height_mm", s))
		assert.InDelta(t, 31, o.ArchHeightMM, 0)
	}
	for _, s := range []string{"12", "12°", "12 deg"} {
		require.NoError(t, o.Set("bevel_back_deg", s))
		assert.InDelta(t, 12, o.BevelBackDeg, 0)
	}
	require.NoError(t, o.Set("wedge_build", " Fore-Bar "))
	assert.Equal(t, ForeBar, o.WedgeBuild)
	require.NoError(t, o.Set("wedge_length_mm", "0"), "0 is automatic")
	require.NoError(t, o.Set("cup_depth_mm", "0.5 in"))
	assert.InDelta(t, 12.7, o.CupDepthMM, 1e-12)
	require.Error(t, o.Set("bevel_lateral_deg", "1in"), "an angle is no length")
	require.Error(t, o.Set("cup_depth_mm", "2in"), "50.8 mm are too much")
}

func TestSetRefuses(t *testing.T) {
	for _, c := range []struct{ key, value, says string }{
		{"cup_dept_mm", "14", "did you mean cup_depth_mm?"},
		{"qqqqqqqqqqqq", "1", "no such option of a device"},
		{"cup_depth_mm", "deep", "not a number"},
		{"cup_depth_mm", "NaN", "5 to 35 mm"},
		{"cup_depth_mm", "+Inf", "give a finite number"},
		{"cup_depth_mm", "1e3", "5 to 35 mm"},
		{"cup_depth_mm", "14 deg", "not a number"},
		{"foot_length_mm", "600", "90 to 340 mm"},
		{"wedge_length_mm", "3", "0 (automatic) or 20 to 150 mm"},
		{"wedge_build", "brick", "one of block, flat, open, fore-bar"},
	} {
		o := Default()
		assert.ErrorContains(t, o.Set(c.key, c.value), c.says, c.key)
		assert.Equal(t, Default(), o, "nothing changed")
	}
	assert.Empty(t, Default().Get("no_such"))
	assert.Zero(t, Default().Number("side"))
	assert.InDelta(t, 14, Default().Number("cup_depth_mm"), 0)
}

func FuzzSet(f *testing.F) {
	f.Add("cup_depth_mm", "14 mm")
	f.Add("wedge_build", "open")
	f.Add("bevel_back_deg", "1e400")
	f.Add("tilt_deg", "-0x1p-2")
	f.Add("", "\xff")
	f.Fuzz(func(t *testing.T, key, value string) {
		o := Default()
		if err := o.Set(key, value); err != nil {
			if o != Default() {
				t.Fatalf("changed in spite of %v", err)
			}
			return
		}
		for _, p := range o.tabled() {
			if k, _ := FindKey(key); p.Field == key && p.Limit == k.Limits() {
				t.Fatalf("Set took what its own limits refuse: %v", p)
			}
		}
		if n := o.Number(key); math.IsNaN(n) || math.IsInf(n, 0) {
			t.Fatal("not finite")
		}
		back := Default()
		if err := back.Set(key, o.Get(key)); err != nil || back != o {
			t.Fatalf("Get gives what Set does not take back: %q, %v", o.Get(key), err)
		}
	})
}
