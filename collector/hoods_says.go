package collector

import (
	"math"
	"slices"
	"strings"

	"dustwright/unit"
)

// says is what follows from the readings together: which branch stands out, or that the air is short in all. Common practice, no
// source: one hood low and others high means that branch; all low means what they share.
func (k *hooder) says(list []Hood) []Text {
	var short, rest, more []*Hood
	for i := range list {
		switch h := &list[i]; {
		case math.IsNaN(h.Share()):
		case h.State == HoodShort || h.State == HoodPerhaps:
			short = append(short, h)
		case h.State == HoodMore:
			more, rest = append(more, h), append(rest, h)
		case h.State == HoodAsWanted:
			rest = append(rest, h)
		}
	}
	var out []Text
	switch {
	case len(short) > 0 && len(rest) == 0:
		out = append(out, k.allShort(short)...)
	case len(short) > 0:
		out = append(out, k.someShort(short, rest)...)
		if len(more) > 0 {
			out = append(out, Say("more than their share is drawn by %s: what the short ones lack goes there, or a gate open too far takes it from them", named(more)))
		}
		more = nil
	case len(rest) > 0 && len(more) < len(rest):
		out = append(out, Say("no hood that was read is short of the flow commissioning asked for"))
	}
	if len(more) > 1 && len(more) == len(rest) && len(short) == 0 {
		out = append(out, Say("every hood that was read draws more than commissioning asked for: too much air in all shortens the filters' life; trim says where the damper goes"))
		more = nil
	}
	for _, h := range more {
		out = append(out, Say("%q shows %s, more suction than its design flow makes: it draws more than its share, by a gate open too far, or its own opening is partly shut; look at the hood first", h.Name, fine{h.Read}))
	}
	for i := range list {
		switch h := &list[i]; {
		case !h.Slow:
		case h.Flow > 0 && float64(h.Now)*float64(h.High/h.Flow) >= float64(h.Least): // the width reaches above it
			out = append(out, Say("in the duct of %q the air moves at about %s; below %s, which this reading can't rule out, dust drops out there", h.Name, h.Now, h.Least))
		default:
			out = append(out, Say("in the duct of %q the air moves at about %s, below the %s that keeps this dust moving: it drops out there", h.Name, h.Now, h.Least))
		}
	}
	if len(out) == 0 {
		out = append(out, Say("these readings can't tell whether the hoods have their flow"))
	}
	return out
}

// allShort is what is said when no hood that was read has its flow.
func (k *hooder) allShort(short []*Hood) []Text {
	if len(short) == 1 {
		return []Text{Say("%q is short; one reading can't tell whether the branch is to blame or the air in all: read the other hoods too", short[0].Name)}
	}
	worst := slices.MinFunc(short, less)
	others := slices.DeleteFunc(slices.Clone(short), func(h *Hood) bool { return h == worst })
	best := slices.MinFunc(others, less)
	if float64(worst.High/worst.Design) < float64(best.Low/best.Design) {
		return []Text{Say("every hood that was read is short: there is too little air in all, by the filters, the damper, the fan or the duct all share; point, trim and judge look there"),
			Say("%q is shorter than the others: something is wrong in its own branch too, a gate shut further or dust in the duct", worst.Name)}
	}
	return []Text{Say("every hood that was read is short, all much alike: there is too little air in all, by the filters, the damper, the fan or the duct all share; point, trim and judge look there")}
}

// fine prints a static pressure as a manometer is read.
type fine struct{ unit.Pressure }

// In prints it in the units of a system.
func (f fine) In(sys unit.System) string { return f.Finely(sys) }

func less(a, b *Hood) int {
	switch d := a.Share() - b.Share(); {
	case d < 0:
		return -1
	case d > 0:
		return 1
	}
	return 0
}

// someShort is what is said when some hoods have their flow and others have not.
func (k *hooder) someShort(short, rest []*Hood) []Text {
	if main := k.commonMain(short, rest); main != "" {
		return []Text{Say("the hoods behind %q are short and the others are not: that main is blocked, or its gate is shut further", main)}
	}
	if len(short) > 1 {
		return []Text{Say("%s are short while others have their flow: those branches are blocked, or their gates are shut further than at commissioning", named(short))}
	}
	return []Text{Say("%s is short while others have their flow: that branch is blocked, or its gate is shut further than at commissioning", named(short))}
}

// named lists hoods.
func named(list []*Hood) string {
	names := make([]string, len(list))
	for i, h := range list {
		names[i] = quote(h.Name)
	}
	return strings.Join(names, ", ")
}

// commonMain is the main behind which all short hoods lie, two at least, and none of the others; "" where there is none.
func (k *hooder) commonMain(short, rest []*Hood) string {
	at := func(h *Hood) int {
		return slices.IndexFunc(k.c.Branches, func(b Branch) bool { return b.Name == h.Name })
	}
	for i, b := range k.c.Branches {
		under := func(h *Hood) bool { return k.t.behind(at(h), i) }
		if !k.t.hood(i) && len(short) > 1 && !slices.ContainsFunc(rest, under) &&
			!slices.ContainsFunc(short, func(h *Hood) bool { return !under(h) }) {
			return b.Name
		}
	}
	return ""
}
