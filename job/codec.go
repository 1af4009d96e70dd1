package job

// One reader and writer for every type of fact a job holds.

import (
	"errors"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"chargewright/quantity"
	"chargewright/reading"
	"chargewright/standard"
	"chargewright/trade"
)

// codec reads and writes facts of one type. The field it is given is a pointer
// to it.
type codec struct {
	typ    reflect.Type
	sort   sort
	wanted string          // "write a length in metres, like 25 m"; see wants
	words  func() []string // the words it may be, if only a few
	read   func(field any, text string) (number float64, err error)
	write  func(field any) string // empty when not known
}

// wants returns what would be right in a field of this type.
func (c *codec) wants() string {
	if c.words != nil {
		return oneOf(c.words()) + " is wanted"
	}
	return c.wanted
}

// fresh returns a pointer to a new fact of the codec's type.
func (c *codec) fresh() any { return reflect.New(c.typ).Interface() }

// sort is what a fact looks like on paper.
type sort uint8

const (
	textSort sort = iota
	quantitySort
	numberSort
	wholeSort
	wordSort
	yesNoSort
)

// codecs is every type of fact. It is never changed.
var codecs = func() map[reflect.Type]*codec {
	m := map[reflect.Type]*codec{}
	put := func(t reflect.Type, c *codec) { c.typ, m[t] = t, c }

	put(reflect.TypeFor[string](), &codec{
		wanted: "words on one line are wanted",
		read:   func(field any, text string) (float64, error) { *field.(*string) = text; return math.NaN(), nil },
		write:  func(field any) string { return *field.(*string) },
	})
	put(reflect.TypeFor[bool](), &codec{
		sort:   yesNoSort,
		wanted: "yes or no is wanted",
		read: func(field any, text string) (float64, error) {
			yes, err := parseYesNo(text)
			*field.(*bool) = yes
			return math.NaN(), err
		},
		write: func(field any) string {
			if *field.(*bool) {
				return "yes"
			}
			return ""
		},
	})
	put(maybe(parseYesNo, func(yes bool) string {
		if yes {
			return "yes"
		}
		return "no"
	}, codec{sort: yesNoSort, wanted: "yes or no is wanted"}))
	put(maybe(parseWhole, strconv.Itoa, codec{sort: wholeSort, wanted: "a whole number is wanted"}))
	put(maybe(parseNumber, func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) },
		codec{sort: numberSort, wanted: "a number is wanted"}))

	put(measure(quantity.ParseOhms))
	put(measure(answering("soil resistivity", quantity.ParseOhmMetres)))
	put(measure(answering("soil heat", quantity.ParseKelvinMetresPerWatt)))
	put(measure(quantity.ParseAmperes))
	put(measure(quantity.ParseVolts))
	put(measure(quantity.ParseWatts))
	put(measure(quantity.ParseMetres))
	put(measure(quantity.ParseSquareMillimetres))
	put(measure(quantity.ParseCelsius))
	put(measure(quantity.ParseSeconds))
	put(measure(quantity.ParsePercent))
	put(measure(quantity.ParseWattHours))
	put(measure(quantity.ParseAmpereSquaredSeconds))
	put(measure(quantity.ParsePercent))

	put(spokenWord[trade.Premises]("premises"))
	put(spokenWord[trade.EarthingSystem]("earthing"))
	put(word[trade.HowKnown]())
	put(word[trade.Condition]())
	put(word[trade.Sides]())
	put(word[trade.Cover]())
	put(spokenWord[trade.PhaseSet]("phases"))
	put(spokenWord[trade.RCDType]("RCD type"))
	put(spokenWord[trade.Poles]("poles"))
	put(word[trade.SurgeType]())
	put(word[trade.SurgeConnection]())
	put(spokenWord[trade.ElectrodeKind]("electrode"))
	put(word[trade.LoadKind]())
	put(word[trade.SourceKind]())
	put(spokenWord[trade.CPC]("cpc"))
	put(spokenWord[trade.Outlet]("outlet"))
	put(word[trade.ClampView]())
	put(word[trade.Sharing]())
	put(word[trade.OpenPENDevice]())
	put(word[trade.EarthingMeasure]())
	put(word[trade.InspectionItem]())
	put(word[trade.Outcome]())
	put(word[trade.Accepting]())
	put(word[trade.Work]())
	put(word[trade.Duty]())
	put(word[trade.Route]())
	put(word[trade.ClampView]())
	put(word[trade.Sharing]())
	put(standardWord(standard.Parse[standard.Family]))
	put(standardWord(standard.Parse[standard.Construction]))
	put(standardWord(standard.Parse[standard.Insulation]))
	put(standardWord(standard.Parse[standard.Material]))
	put(standardWord(standard.Parse[standard.Method]))
	put(standardWord(standard.Parse[standard.Arrangement]))

	put(reflect.TypeFor[trade.Stage](), plainWord(parseWord[trade.Stage], trade.Stage("").Values))
	put(reflect.TypeFor[standard.Edition](), plainWord(standard.ParseEdition, editions))
	return m
}()

func editions() []string {
	var out []string
	for _, e := range standard.Editions() {
		out = append(out, string(e))
	}
	return out
}

// wish is an error that says only what would be right.
type wish string

func (w wish) Error() string { return string(w) }

// maybe returns the codec of a fact that may not be known.
func maybe[Q any](parse func(string) (Q, error), print func(Q) string, c codec) (reflect.Type, *codec) {
	c.read = func(field any, text string) (float64, error) {
		q, err := parse(text)
		if err != nil {
			return 0, err
		}
		*field.(*quantity.Maybe[Q]) = quantity.Known(q)
		switch v := any(q).(type) {
		case int:
			return float64(v), nil
		case float64:
			return v, nil
		}
		return math.NaN(), nil
	}
	c.write = func(field any) string {
		if q, known := field.(*quantity.Maybe[Q]).Get(); known {
			return print(q)
		}
		return ""
	}
	return reflect.TypeFor[quantity.Maybe[Q]](), &c
}

// measure returns the codec of a quantity.
func measure[Q interface {
	~float64
	String() string
	Exact() string
}](parse func(string) (Q, error)) (reflect.Type, *codec) {
	_, err := parse("")
	t, c := maybe(parse, func(q Q) string {
		if back, err := parse(q.String()); err == nil && back == q {
			return q.String() // rounded for a person, and nothing was lost
		}
		return q.Exact()
	}, codec{sort: quantitySort, wanted: want(err)})
	read := c.read
	c.read = func(field any, text string) (float64, error) {
		if _, err := read(field, text); err != nil {
			return 0, err
		}
		q, _ := field.(*quantity.Maybe[Q]).Get()
		return float64(q), nil
	}
	return t, c
}

// words is a type that lists the few words it may be.
type words interface {
	~string
	Values() []string
}

// word returns the codec of a fact that is one of a few words of ours.
func word[W words]() (reflect.Type, *codec) { return standardWord(parseWord[W]) }

// spokenWord is word, for a kind of which electricians write other words too.
func spokenWord[W words](kind string) (reflect.Type, *codec) {
	return standardWord(answering(kind, func(text string) (W, error) {
		if w, err := parseWord[W](text); err == nil {
			return w, nil
		}
		means, _ := standard.Spoken(kind, text)
		return parseWord[W](means)
	}))
}

// answering makes parse answer a word that says too little or something else.
func answering[Q any](kind string, parse func(string) (Q, error)) func(string) (Q, error) {
	return func(text string) (Q, error) {
		q, err := parse(text)
		if err != nil {
			if _, answer := standard.Spoken(kind, text); answer != "" {
				return q, standard.Answer(answer)
			}
		}
		return q, err
	}
}

// standardWord returns the codec of a fact that is one of a few words, read by parse.
func standardWord[W words](parse func(string) (W, error)) (reflect.Type, *codec) {
	var none W
	return maybe(oneOfThem(parse, none.Values), func(w W) string { return string(w) },
		codec{sort: wordSort, words: none.Values})
}

// plainWord returns the codec of a word that is not wrapped in a Maybe.
func plainWord[W ~string](parse func(string) (W, error), values func() []string) *codec {
	parse = oneOfThem(parse, values)
	return &codec{
		typ:   reflect.TypeFor[W](),
		sort:  wordSort,
		words: values,
		read: func(field any, text string) (float64, error) {
			w, err := parse(text)
			if err != nil {
				return 0, err
			}
			*field.(*W) = w
			return math.NaN(), nil
		},
		write: func(field any) string { return string(*field.(*W)) },
	}
}

// oneOfThem makes parse refuse what is not among values, and name the nearest.
func oneOfThem[W ~string](parse func(string) (W, error), values func() []string) func(string) (W, error) {
	return func(text string) (W, error) {
		w, err := parse(text)
		if err == nil && slices.Contains(values(), string(w)) {
			return w, nil
		}
		if answer, ok := standard.AnswerIn(err); ok {
			return "", answer
		}
		switch any(W("")).(type) {
		case standard.Family, trade.RCDType: // a device is never guessed: one letter or figure makes it another
			return "", wish(oneOf(values()) + " is wanted")
		}
		return "", notAmong(text, values())
	}
}

// notAmong says which words are wanted, and which is nearest to text.
func notAmong(text string, words []string) error {
	says := oneOf(words) + " is wanted"
	if near := reading.Near(text, words); near != "" {
		says += "; the nearest is " + near
	}
	return wish(says)
}

// parseWord finds text among the words of W, forgiving case, spaces and hyphens.
func parseWord[W words](text string) (W, error) {
	var none W
	for _, v := range none.Values() {
		if v == text || reading.Plain(v) == reading.Plain(text) {
			return W(v), nil
		}
	}
	return "", errors.New("no such word")
}

func parseYesNo(text string) (bool, error) {
	switch strings.ToLower(text) {
	case "yes", "true":
		return true, nil
	case "no", "false":
		return false, nil
	}
	return false, wish("yes or no is wanted")
}

func parseWhole(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil {
		return 0, wish("a whole number is wanted")
	}
	return n, nil
}

func parseNumber(text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, wish("a number is wanted, like 0.8")
	}
	return v, nil
}

// want returns what would be right, from an error that also says what is wrong.
func want(err error) string {
	var q *quantity.Error
	if errors.As(err, &q) {
		return q.Wanted()
	}
	return err.Error()
}
