package demand

// A vehicle in a run: it comes, takes up current, is full, and leaves. Its
// energy is booked whenever its current changes.

import (
	"container/heap"
	"math"
)

// come connects a vehicle.
func (r *run) come(e *visitEvent, now int64) {
	i, b, spec := int(e.bay), &r.bays[e.bay], &r.Bays[e.bay]
	leaves := max(now+1, int64(math.Floor(float64(e.visit.Leave)/float64(r.step))))
	*b = bay{mask: maskOf(spec.On), since: now, leaves: leaves, full: never, here: true, charging: true}
	if e.visit.Phases == 1 && b.mask == 7 {
		b.mask = 1 << spec.First
	}
	b.weight = int64(b.mask&1 + b.mask>>1&1 + b.mask>>2&1)
	b.most = min(milliamperes(spec.Most), milliamperes(e.visit.Most))
	b.ramp = milliamperes(e.visit.Ramp) * r.step
	least := milliamperes(spec.Least)
	quantum := r.unit * b.weight // so that the last step comes out even
	b.need = (int64(math.Round(float64(e.visit.Needs)*3.6e6)) + quantum - 1) / quantum * quantum
	r.res.Bays[i].Visits++
	heap.Push(&r.coming, visitEvent{step: leaves, bay: e.bay})
	if b.need == 0 || b.most < least {
		b.charging = false
		return
	}
	g := r.of(i)
	g.join(i, asks{on: b.mask, most: b.most, least: least, arrived: now, leaves: leaves})
	if g.lim == nil {
		r.set(i, b.most, now)
		return
	}
	g.lim.setting[i] = 0
	for k := range g.ahead {
		g.ahead[k][i] = 0
	}
}

// stop ends the charging of a vehicle, full or leaving.
func (r *run) stop(i int, now int64) {
	b := &r.bays[i]
	r.set(i, 0, now)
	r.settle(i, now)
	g := r.of(i)
	g.leave(i)
	b.charging = false
	if g.lim != nil {
		g.lim.setting[i] = 0
	}
}

// leave disconnects a vehicle.
func (r *run) leave(i int, now int64) {
	b, out := &r.bays[i], &r.res.Bays[i]
	if b.charging {
		r.stop(i, now)
	}
	if b.need > 0 {
		out.NotFull++
		out.Short += millijoules(b.need)
	}
	b.here = false
	r.book(i, now)
}

// settle books what a point drew since the last time.
func (r *run) settle(i int, now int64) {
	b, out := &r.bays[i], &r.res.Bays[i]
	steps := now - b.since
	if steps > 0 && b.charging {
		e := b.drawn * b.weight * r.unit * steps
		b.need -= e
		out.Energy += millijoules(e)
		r.byBand[i][r.band] += e
		if b.drawn < b.most && !b.last {
			out.Held += seconds(steps * r.step * 1000)
			if b.drawn == 0 {
				out.Paused += seconds(steps * r.step * 1000)
			}
		}
	}
	b.since = now
}

// set gives a vehicle a current to go to.
func (r *run) set(i int, to, now int64) {
	b := &r.bays[i]
	b.want = to
	if b.ramp > 0 && to > b.drawn {
		if len(r.rising) == 0 || !contains(r.rising, int32(i)) {
			r.rising = append(r.rising, int32(i))
		}
		to = min(to, b.drawn+b.ramp)
	}
	r.draw(i, to, now)
}

func contains(list []int32, i int32) bool {
	for _, k := range list {
		if k == i {
			return true
		}
	}
	return false
}

// draw changes the current of a vehicle now.
func (r *run) draw(i int, to, now int64) {
	b := &r.bays[i]
	if to == b.drawn && b.full != now {
		return
	}
	r.settle(i, now)
	b.last, b.full = false, never
	if to > 0 {
		perStep := to * b.weight * r.unit
		steps := b.need / perStep
		if steps == 0 { // the rest of it fills a step only in part
			to, steps, b.last = b.need/(b.weight*r.unit), 1, true
		}
		b.full = now + steps
		r.nextFull = min(r.nextFull, b.full)
	}
	by := to - b.drawn
	if by == 0 {
		return
	}
	r.count(now)
	b.drawn = to
	g := r.of(i)
	for k := range r.line {
		if b.mask>>k&1 != 0 {
			r.line[k] += by
			g.line[k] += by
		}
	}
	if r.meter != nil {
		r.meter.change(i, by)
	}
}

// fill ends or shortens the charging of those whose time has come.
func (r *run) fill(now int64) {
	r.nextFull = never
	for _, g := range r.groups {
		for q := 0; q < len(g.order); {
			i := int(g.order[q])
			b := &r.bays[i]
			if b.full == now {
				r.settle(i, now)
				if b.need == 0 {
					r.stop(i, now)
					continue // the order has closed up
				}
				r.draw(i, b.drawn, now)
			}
			r.nextFull = min(r.nextFull, b.full)
			q++
		}
	}
}

// rise lets those still taking up current take up more.
func (r *run) rise(now int64) {
	keep := r.rising[:0]
	for _, i := range r.rising {
		b := &r.bays[i]
		if !b.charging || b.last || b.drawn >= b.want {
			continue
		}
		r.draw(int(i), min(b.want, b.drawn+b.ramp), now)
		keep = append(keep, i)
	}
	r.rising = keep
}
