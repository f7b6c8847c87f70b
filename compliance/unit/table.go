package unit

// Unit is one unit of measurement.
type Unit struct {
	Symbol string // as printed: "mg/L", "m³"
	Title  string // in words: "milligrams per litre"
	Kind   Kind
	num    int64 // one of this unit is num/den of its kind's base unit
	den    int64
}

// Kind says what a unit measures. Units of one kind turn into one another;
// others never do, however alike they look.
type Kind string

// The kinds there are.
const (
	Number        Kind = "number"
	Ratio         Kind = "ratio"
	Length        Kind = "length"
	Area          Kind = "area"
	Volume        Kind = "volume"
	Mass          Kind = "mass"
	Time          Kind = "time"
	Flow          Kind = "volume per time"
	Speed         Kind = "speed"
	Concentration Kind = "mass per volume"
	Settled       Kind = "settled volume per volume"
	Deposition    Kind = "mass per area and time"
	SpreadRate    Kind = "mass per area"
	Pressure      Kind = "pressure"
	SoundLevel    Kind = "level"
	SoundLevelA   Kind = "level, A-weighted"
	SoundLevelC   Kind = "level, C-weighted"
	SoundLevelZ   Kind = "level, unweighted"
	NephNTU       Kind = "turbidity by white light"
	NephFNU       Kind = "turbidity by infrared light"
	Acidity       Kind = "acidity"
	Temperature   Kind = "temperature"
	Illuminance   Kind = "illuminance"
	Frequency     Kind = "frequency"
	Power         Kind = "power"
	Energetic     Kind = "energy"
	Conductivity  Kind = "conductivity"
	Angle         Kind = "angle"
	MassFlow      Kind = "mass per time"
	BulkDensity   Kind = "bulk density"
	Scaled        Kind = "distance scaled by the root of a charge"
)

// table lists every unit, in a fixed order. Factors to the SI are exact by
// definition; foot, inch and pound are those of the international yard and
// pound agreement of 1959 (0.3048 m, 25.4 mm, 0.45359237 kg), the mile is
// 5280 such feet.
var table = []Unit{
	{"", "count", Number, 1, 1},
	{"%", "per cent", Ratio, 1, 1},
	{"‰", "per thousand", Ratio, 1, 10},

	{"m", "metres", Length, 1000, 1},
	{"mm", "millimetres", Length, 1, 1},
	{"cm", "centimetres", Length, 10, 1},
	{"km", "kilometres", Length, 1_000_000, 1},
	{"ft", "feet", Length, 3048, 10},
	{"in", "inches", Length, 254, 10},

	{"m²", "square metres", Area, 1, 1},
	{"ha", "hectares", Area, 10_000, 1},
	{"km²", "square kilometres", Area, 1_000_000, 1},

	{"m³", "cubic metres", Volume, 1000, 1},
	{"L", "litres", Volume, 1, 1},
	{"mL", "millilitres", Volume, 1, 1000},

	{"t", "tonnes", Mass, 1_000_000, 1},
	{"kg", "kilograms", Mass, 1000, 1},
	{"g", "grams", Mass, 1, 1},
	{"mg", "milligrams", Mass, 1, 1000},
	{"lb", "pounds", Mass, 45_359_237, 100_000},

	{"s", "seconds", Time, 1, 1},
	{"min", "minutes", Time, 60, 1},
	{"h", "hours", Time, 3600, 1},
	{"d", "days of 24 hours", Time, 86_400, 1},

	{"L/s", "litres per second", Flow, 86_400, 1},
	{"m³/s", "cubic metres per second", Flow, 86_400_000, 1},
	{"L/min", "litres per minute", Flow, 1440, 1},
	{"m³/h", "cubic metres per hour", Flow, 24_000, 1},
	{"m³/d", "cubic metres per day", Flow, 1000, 1},

	{"m/s", "metres per second", Speed, 3_600_000, 1},
	{"mm/s", "millimetres per second", Speed, 3600, 1},
	{"in/s", "inches per second", Speed, 91_440, 1},
	{"km/h", "kilometres per hour", Speed, 1_000_000, 1},
	{"mph", "miles per hour", Speed, 1_609_344, 1},
	{"mm/h", "millimetres per hour", Speed, 1, 1},

	{"mg/L", "milligrams per litre", Concentration, 1_000_000, 1},
	{"µg/L", "micrograms per litre", Concentration, 1000, 1},
	{"ng/L", "nanograms per litre", Concentration, 1, 1},
	{"g/L", "grams per litre", Concentration, 1_000_000_000, 1},
	{"mg/m³", "milligrams per cubic metre", Concentration, 1000, 1},
	{"µg/m³", "micrograms per cubic metre", Concentration, 1, 1},

	{"mL/L", "millilitres per litre", Settled, 1, 1},

	{"mg/m²/d", "milligrams per square metre and day", Deposition, 1, 1},
	{"g/m²/d", "grams per square metre and day", Deposition, 1000, 1},
	{"kg/ha", "kilograms per hectare", SpreadRate, 1, 1},
	{"t/ha", "tonnes per hectare", SpreadRate, 1000, 1},
	{"g/m²", "grams per square metre", SpreadRate, 10, 1},
	{"kg/h", "kilograms per hour", MassFlow, 24, 1},
	{"kg/d", "kilograms per day", MassFlow, 1, 1},
	{"t/d", "tonnes per day", MassFlow, 1000, 1},
	{"t/m³", "tonnes per cubic metre", BulkDensity, 1000, 1},
	{"kg/m³", "kilograms per cubic metre", BulkDensity, 1, 1},

	{"m/kg½", "metres per square root of a kilogram", Scaled, 1, 1},

	{"Pa", "pascals", Pressure, 1, 1},
	{"hPa", "hectopascals", Pressure, 100, 1},
	{"kPa", "kilopascals", Pressure, 1000, 1},
	{"MPa", "megapascals", Pressure, 1_000_000, 1},

	{"dB", "decibels", SoundLevel, 1, 1},
	{"dB(A)", "decibels, A-weighted", SoundLevelA, 1, 1},
	{"dB(C)", "decibels, C-weighted", SoundLevelC, 1, 1},
	{"dB(Z)", "decibels, unweighted", SoundLevelZ, 1, 1},

	{"NTU", "turbidity units (white light)", NephNTU, 1, 1},
	{"FNU", "turbidity units (infrared light)", NephFNU, 1, 1},
	{"pH", "pH", Acidity, 1, 1},
	{"°C", "degrees Celsius", Temperature, 1, 1},
	{"lx", "lux", Illuminance, 1, 1},
	{"Hz", "hertz", Frequency, 1, 1},
	{"kW", "kilowatts", Power, 1, 1},
	{"kWh", "kilowatt-hours", Energetic, 1, 1},
	{"µS/cm", "microsiemens per centimetre", Conductivity, 1, 1},
	{"mS/cm", "millisiemens per centimetre", Conductivity, 1000, 1},
	{"°", "degrees", Angle, 1, 1},
}

// spellings lists other ways of writing a unit that leave no doubt.
var spellings = [][2]string{
	{"count", ""}, {"percent", "%"}, {"per cent", "%"},
	{"metre", "m"}, {"metres", "m"}, {"feet", "ft"}, {"inches", "in"},
	{"m2", "m²"}, {"km2", "km²"}, {"hectares", "ha"},
	{"m3", "m³"}, {"m^3", "m³"}, {"m^2", "m²"}, {"l", "L"}, {"ml", "mL"}, {"litres", "L"},
	{"tonne", "t"}, {"tonnes", "t"},
	{"hour", "h"}, {"hours", "h"}, {"hr", "h"}, {"hrs", "h"}, {"minute", "min"}, {"minutes", "min"},
	{"second", "s"}, {"seconds", "s"}, {"sec", "s"}, {"day", "d"}, {"days", "d"},
	{"l/s", "L/s"}, {"l/min", "L/min"}, {"m3/h", "m³/h"}, {"m3/s", "m³/s"}, {"m3/d", "m³/d"},
	{"m3/day", "m³/d"}, {"m³/day", "m³/d"},
	{"mg/l", "mg/L"}, {"ug/l", "µg/L"}, {"ug/L", "µg/L"}, {"µg/l", "µg/L"}, {"ng/l", "ng/L"}, {"g/l", "g/L"},
	{"ml/l", "mL/L"}, {"ml/L", "mL/L"},
	{"mg/m3", "mg/m³"}, {"ug/m3", "µg/m³"}, {"µg/m3", "µg/m³"}, {"ug/m³", "µg/m³"},
	{"mg/m2/d", "mg/m²/d"}, {"mg/m2/day", "mg/m²/d"}, {"mg/m²/day", "mg/m²/d"}, {"g/m2/d", "g/m²/d"}, {"g/m2", "g/m²"},
	{"t/m3", "t/m³"}, {"kg/m3", "kg/m³"}, {"m/kg^0.5", "m/kg½"},
	{"dBA", "dB(A)"}, {"dB A", "dB(A)"}, {"dBC", "dB(C)"}, {"dBZ", "dB(Z)"}, {"dBL", "dB(Z)"},
	{"dB(lin)", "dB(Z)"}, {"dB(L)", "dB(Z)"},
	{"degC", "°C"}, {"lux", "lx"}, {"uS/cm", "µS/cm"}, {"deg", "°"}, {"degrees", "°"},
}
