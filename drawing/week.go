package drawing

import (
	"fmt"
	"math"
	"strconv"
)

// WeekData is energy by day of the week, Monday first, and half-hour, in kWh,
// and which half-hours are the cheap ones.
type WeekData struct {
	Energy [7][48]float64
	Cheap  [7][48]bool
}

// Greatest returns the greatest energy of a half-hour.
func (w WeekData) Greatest() float64 {
	greatest := 0.0
	for d := range w.Energy {
		for _, e := range w.Energy[d] {
			greatest = max(greatest, e)
		}
	}
	return greatest
}

// Size of the picture of a week, in mm.
const (
	weekWidth  = 130.0
	weekLeft   = 10.0
	weekRight  = weekWidth - 2
	weekTop    = 12.0
	weekRow    = 10.0
	weekGap    = 2.2
	weekBottom = 12.0
	weekText   = 2.8
)

var weekDays = [7]string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}

// Week draws when energy flows in a week: a row a day, midnight to midnight,
// a bar a half-hour as high as its energy, on a ground that is darker in the
// cheap half-hours. The greatest bar is as high as its row; most is the energy
// of a half-hour that fills a row, so that two weeks can be drawn alike. With
// most 0 the greatest of this week fills it.
func Week(name, title string, w WeekData, most float64) Scene {
	greatest, at := w.Greatest(), ""
	for d := range w.Energy {
		for h, e := range w.Energy[d] {
			if e == greatest && at == "" {
				at = fmt.Sprintf("%s %02d:%02d", weekDays[d], h/2, h%2*30)
			}
		}
	}
	if most <= 0 {
		most = greatest
	}
	s := Scene{Name: name, Title: title, Width: weekWidth, Height: weekTop + 7*(weekRow+weekGap) + weekBottom}
	s.Description = "No energy flows."
	if greatest > 0 {
		s.Description = fmt.Sprintf("Energy by day of the week and half-hour. The greatest is %s kWh, %s.", short(greatest), at)
	}
	add := func(shapes ...Shape) { s.Shapes = append(s.Shapes, shapes...) }
	across := (weekRight - weekLeft) / 48
	for i, line := range Wrap(Printable(title), weekRight-1, 3.4, true) {
		add(Text{At: XY{1, 4 + 4.4*float64(i)}, Text: line, Size: 3.4, Bold: true, Ink: Black})
	}
	anyCheap := false
	for d := range w.Energy {
		top := weekTop + float64(d)*(weekRow+weekGap)
		base := top + weekRow
		add(Text{At: XY{1, base - 1}, Text: weekDays[d], Size: weekText, Ink: Black})
		for h := 0; h < 48; {
			if !w.Cheap[d][h] {
				h++
				continue
			}
			from := h
			for h < 48 && w.Cheap[d][h] {
				h++
			}
			anyCheap = true
			add(Rectangle{At: XY{weekLeft + float64(from)*across, top}, Width: float64(h-from) * across, Height: weekRow, Fill: Pale})
		}
		for h, e := range w.Energy[d] {
			if e <= 0 || most <= 0 {
				continue
			}
			high := max(0.25, weekRow*min(e/most, 1))
			add(Rectangle{At: XY{weekLeft + (float64(h)+0.12)*across, base - high}, Width: across * 0.76, Height: high, Fill: Black})
		}
		add(Line{XY{weekLeft, base}, XY{weekRight, base}, Stroke{Ink: Grey, Width: 0.2}})
	}
	foot := weekTop + 7*(weekRow+weekGap) - weekGap
	for hour := 0; hour <= 24; hour += 3 {
		x := weekLeft + float64(hour)*2*across
		anchor := Middle
		if hour == 24 {
			anchor = End
		}
		add(Line{XY{x, foot}, XY{x, foot + 1}, Stroke{Ink: Grey, Width: 0.2}},
			Text{At: XY{x, foot + 4.2}, Text: fmt.Sprintf("%02d:00", hour), Size: weekText, Anchor: anchor, Ink: Grey})
	}
	legend := "A bar as high as its row is " + short(most) + " kWh in the half-hour."
	if most <= 0 {
		legend = "No energy flows."
	}
	x := weekLeft
	if anyCheap {
		add(Rectangle{At: XY{x, foot + 6.6}, Width: 5, Height: 3, Fill: Pale},
			Text{At: XY{x + 6.5, foot + 9.1}, Text: "lowest price of the last week", Size: weekText, Ink: Black})
		x += 52
	}
	add(Text{At: XY{x, foot + 9.1}, Text: legend, Size: weekText, Ink: Black})
	return s
}

// short prints a number with three figures that matter.
func short(v float64) string {
	if v == 0 {
		return "0"
	}
	places := max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	return strconv.FormatFloat(v, 'f', min(places, 3), 64)
}
