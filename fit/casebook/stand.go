package casebook

import (
	"bytes"
	"encoding/json"
	"time"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

// A Stand is where the work on one side stands: a foot, a shoe, a device as ordered and as it is now, and what is calculated for them.
type Stand struct {
	Foot      fit.Foot // what is zero was not measured
	Shoe      footwear.Sheet
	InsoleOut bool
	Ordered   device.Options
	Now       device.Options // equal to Ordered: nothing is changed
	Label     string         // what the device as ordered is called
	Result    *fit.Result    // nil: not calculated
	Report    json.RawMessage
}

// Take brings the case to where the work stands. What it has already is used again: a shoe with the same measures, a device with the same
// options. The device as changed is brought up to date in place as long as nothing has come of it; so is the result of the same pair.
func (c *Case) Take(at time.Time, s Stand) error {
	foot := FootOf(s.Now.Side, s.Foot)
	if foot.LengthMM == 0 {
		foot.LengthMM = s.Now.FootLengthMM
	}
	if f := find(c.Feet, foot.Side, func(f *Foot) string { return f.Side }); f != nil {
		*f = foot
	} else {
		c.Feet = append(c.Feet, foot)
	}
	shoe, err := c.haveShoe(s.Shoe, s.InsoleOut)
	if err != nil {
		return err
	}
	dev, err := c.haveDevice(s.Ordered, s.Label, "")
	if err != nil {
		return err
	}
	if s.Now != s.Ordered {
		if dev, err = c.haveDevice(s.Now, "", dev); err != nil {
			return err
		}
	}
	if s.Result == nil {
		return nil
	}
	n := len(c.Results)
	if n == 0 || c.Results[n-1].Shoe != shoe || c.Results[n-1].Device != dev {
		c.AddResult(at, shoe, dev, s.Result, s.Report)
		return nil
	}
	was, last := c.Results[n-1], c.LastKey
	c.Results = c.Results[: n-1 : n-1]
	c.AddResult(at, shoe, dev, s.Result, s.Report)
	now := &c.Results[n-1]
	now.Key, c.LastKey = was.Key, last // it is the same result, brought up to date
	if now.State == was.State && now.Sentence == was.Sentence && now.Odds == was.Odds && now.RideUpMM == was.RideUpMM && now.Program == was.Program {
		*now = was // and says nothing new
	}
	return nil
}

// haveShoe is the key of the shoe with these measures, which is added when there is none.
func (c *Case) haveShoe(s footwear.Sheet, insoleOut bool) (string, error) {
	var b bytes.Buffer
	if err := footwear.WriteSheet(&b, s); err != nil {
		return "", err
	}
	for _, k := range c.Shoes {
		if k.InsoleOut == insoleOut && sameJSON(k.Sheet, b.Bytes()) {
			return k.Key, nil
		}
	}
	return c.AddShoe(s, insoleOut)
}

// haveDevice is the key of the device with these options. One that is changed from another takes the place of the last that was, unless
// something has come of it.
func (c *Case) haveDevice(o device.Options, label, from string) (string, error) {
	var b bytes.Buffer
	if err := device.WriteOptions(&b, o); err != nil {
		return "", err
	}
	var last *Device
	for i := range c.Devices {
		d := &c.Devices[i]
		if d.From != from || d.Side != o.Side || d.Scan != "" {
			continue
		}
		if sameJSON(d.Options, b.Bytes()) {
			return d.Key, nil
		}
		last = d
	}
	if last == nil || from == "" || c.cameOf(last.Key) {
		return c.AddDevice(o, label, from)
	}
	last.Options = b.Bytes()
	return last.Key, nil
}

// cameOf says whether something came of a device, or another was changed from it.
func (c *Case) cameOf(key string) bool {
	for _, o := range c.Outcomes {
		if o.Device == key {
			return true
		}
	}
	for _, d := range c.Devices {
		if d.From == key {
			return true
		}
	}
	return false
}

func sameJSON(a, b []byte) bool {
	var x, y bytes.Buffer
	return json.Compact(&x, a) == nil && json.Compact(&y, b) == nil && bytes.Equal(x.Bytes(), y.Bytes())
}

// Stands is where the work stands: the pair that was calculated last, or else the last shoe and the last device. The result itself is to
// be calculated again.
func (c *Case) Stands() (Stand, error) {
	bad := func(limit, mend string) (Stand, error) {
		return Stand{}, problem.Problem{Field: "case", Value: c.Code, Limit: limit, Mend: mend}
	}
	if len(c.Shoes) == 0 || len(c.Devices) == 0 {
		return bad("a shoe and a device are needed", "add them to the case")
	}
	shoe, dev := &c.Shoes[len(c.Shoes)-1], &c.Devices[len(c.Devices)-1]
	if n := len(c.Results); n > 0 {
		if s, d := c.Shoe(c.Results[n-1].Shoe), c.Device(c.Results[n-1].Device); s != nil && d != nil {
			shoe, dev = s, d
		}
	}
	first := dev
	for range c.Devices { // a chain can't be longer
		if from := c.Device(first.From); from != nil {
			first = from
		}
	}
	if len(dev.Options) == 0 || len(first.Options) == 0 {
		return bad("device "+dev.Key+" has a scan and no options", "open the scan itself")
	}
	s := Stand{InsoleOut: shoe.InsoleOut, Label: first.Label}
	var err error
	if s.Shoe, err = shoe.Measures(); err != nil {
		return s, err
	}
	if s.Ordered, err = first.Prescription(); err != nil {
		return s, err
	}
	if s.Now, err = dev.Prescription(); err != nil {
		return s, err
	}
	for _, f := range c.Feet {
		if f.Side == s.Now.Side {
			s.Foot = f.Measured()
		}
	}
	return s, nil
}
