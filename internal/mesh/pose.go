package mesh

import (
	"math"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Pose is a rigid motion x → R(Q)·x + T, with Q a unit quaternion and T in mm. The zero value is the identity.
type Pose struct {
	Q quat.Number
	T r3.Vec
}

// PoseAbout turns by the rotation vector (direction: axis, right-handed; length: angle in radians) about centre and
// then shifts by t, both in mm.
func PoseAbout(centre, rotationVectorRad, t r3.Vec) Pose {
	angle := r3.Norm(rotationVectorRad)
	s := 0.5 // limit of sin(angle/2)/angle
	if angle > 1e-9 {
		s = math.Sin(angle/2) / angle
	}
	p := Pose{Q: normalized(quat.Number{
		Real: math.Cos(angle / 2),
		Imag: s * rotationVectorRad.X, Jmag: s * rotationVectorRad.Y, Kmag: s * rotationVectorRad.Z,
	})}
	p.T = r3.Add(t, r3.Sub(centre, p.Rotate(centre)))
	return p
}

// Apply moves a point.
func (p Pose) Apply(v r3.Vec) r3.Vec { return r3.Add(p.Rotate(v), p.T) }

// Rotate turns a direction; the shift does not act on it.
func (p Pose) Rotate(v r3.Vec) r3.Vec {
	q := p.rotation()
	u := r3.Vec{X: q.Imag, Y: q.Jmag, Z: q.Kmag}
	w := r3.Scale(2, r3.Cross(u, v))
	return r3.Add(r3.Add(v, r3.Scale(q.Real, w)), r3.Cross(u, w))
}

// A Motion is a pose as a matrix, for the points of a whole body.
type Motion struct{ x, y, z, t r3.Vec }

// Motion is p as a matrix.
func (p Pose) Motion() Motion {
	return Motion{p.Rotate(r3.Vec{X: 1}), p.Rotate(r3.Vec{Y: 1}), p.Rotate(r3.Vec{Z: 1}), p.T}
}

// Apply moves a point as the pose does, but for rounding.
func (m *Motion) Apply(v *r3.Vec) r3.Vec {
	return r3.Vec{
		X: m.x.X*v.X + m.y.X*v.Y + m.z.X*v.Z + m.t.X,
		Y: m.x.Y*v.X + m.y.Y*v.Y + m.z.Y*v.Z + m.t.Y,
		Z: m.x.Z*v.X + m.y.Z*v.Y + m.z.Z*v.Z + m.t.Z,
	}
}

// Inverse undoes p.
func (p Pose) Inverse() Pose {
	inv := Pose{Q: quat.Conj(p.rotation())}
	inv.T = r3.Scale(-1, inv.Rotate(p.T))
	return inv
}

// Compose is p after q: p.Compose(q).Apply(x) = p.Apply(q.Apply(x)).
func (p Pose) Compose(q Pose) Pose {
	return Pose{Q: normalized(quat.Mul(p.rotation(), q.rotation())), T: p.Apply(q.T)}
}

// RotationVectorDeg is the rotation as axis times angle in degrees, the angle at most 180.
func (p Pose) RotationVectorDeg() r3.Vec {
	q := p.rotation()
	if q.Real < 0 {
		q = quat.Scale(-1, q)
	}
	u := r3.Vec{X: q.Imag, Y: q.Jmag, Z: q.Kmag}
	n := r3.Norm(u)
	k := 2.0 // limit of angle/sin(angle/2)
	if n > 1e-12 {
		k = 2 * math.Atan2(n, q.Real) / n
	}
	return r3.Scale(k*180/math.Pi, u)
}

func (p Pose) rotation() quat.Number {
	if p.Q == (quat.Number{}) {
		return quat.Number{Real: 1}
	}
	return p.Q
}

func normalized(q quat.Number) quat.Number { return quat.Scale(1/quat.Abs(q), q) }
