package inspection

// Checklists returns the checklists there are, in the order shown. What they
// look at is common practice on earthworks sites; a notice may ask for more.
func Checklists() []Checklist {
	return []Checklist{soilStores(), drainage(), fuel(), noise(), haulRoad(), boundaries(), spoil(), restored()}
}

func soilStores() Checklist {
	return Checklist{"soil-stores", "Soil stores", []Item{
		{"label", "Each mound carries the label that the mound register gives it"},
		{"apart", "Topsoil, subsoil and spoil stand clear of one another"},
		{"height", "No mound looks higher than it may be; doubt is settled by survey, not by climbing"},
		{"sides", "Side slopes hold, with no slip or crack, seen from the foot"},
		{"traffic", "Nothing drives or stands on a mound"},
		{"cover", "Mounds are grassed over, or sown within their time"},
		{"weeds", "Weeds are cut before they seed"},
		{"toe", "No water stands at the foot and the drain round it runs"},
		{"rills", "Rain has cut no deep channels"},
		{"clearance", "Mounds keep their distance from water, hedge and tree"},
		{"clean", "No stone, waste or roots have been tipped into the soil"},
	}}
}

func drainage() Checklist {
	return Checklist{"drainage", "Drainage and silt", []Item{
		{"ditches", "Cut-off ditches run free along their whole length"},
		{"fences", "Silt fences stand whole, with their foot buried"},
		{"freeboard", "Each lagoon has the freeboard it must keep"},
		{"silt", "Silt leaves the lagoon the depth it needs to settle"},
		{"outlet", "The outlet is clear and its valve stands as last written down"},
		{"look", "Water at the outlet is clear, free of sheen and scum"},
		{"stream", "The stream looks alike above and below the outlet"},
		{"pump", "The pump draws clear of the bed and its meter turns"},
		{"dosing", "Treatment runs as approved, where there is any"},
		{"bare", "Bare ground left idle is covered or sown"},
		{"crossings", "Culverts and crossings are sound and not blocked"},
		{"spares", "Spare fence, stone and pumps are enough for the rain forecast"},
	}}
}

func fuel() Checklist {
	return Checklist{"fuel", "Fuel and plant", []Item{
		{"bund", "Bunds are whole, hold what they must after rain, and are not drained of oily water"},
		{"locked", "Valves are locked and hoses hang inside the bund"},
		{"kit", "Spill kits are full and within reach"},
		{"trays", "Standing plant has drip trays, emptied"},
		{"leaks", "No oil lies under plant"},
		{"pad", "Refuelling is done on its pad and watched"},
		{"labels", "Oils and chemicals are labelled, with their data sheets at hand"},
		{"covers", "Engine covers are shut and silencers fitted"},
		{"air", "No engine runs inside or below ground without the ventilation planned for it"},
		{"meters", "Hour meters were read and written down"},
	}}
}

func noise() Checklist {
	return Checklist{"noise", "Noise and hours", []Item{
		{"start", "The first noisy work began within its hours"},
		{"gate", "The gate opened within its hours"},
		{"logger", "The logger runs and its clock is right to the minute"},
		{"microphone", "Microphone and windshield stand as the deployment says"},
		{"check", "The field check before and after agrees"},
		{"alarms", "Reversing alarms are of the agreed kind"},
		{"idle", "Engines are off when nothing is done with them"},
		{"screens", "Screens and bunds are where they were planned"},
		{"consent", "Work out of hours has its consent at hand"},
		{"listen", "At the boundary, quiet hours are quiet"},
	}}
}

func haulRoad() Checklist {
	return Checklist{"haul-road", "Haul road and wheel wash", []Item{
		{"surface", "The surface carries traffic without ruts and holes"},
		{"dust", "Dust is kept down; the bowser was used where it was dry"},
		{"speed", "Speed signs stand and are kept to"},
		{"wash", "The wheel wash works and has water"},
		{"mud", "No mud lies on the public road"},
		{"sheets", "Loads leave covered"},
		{"route", "Route signs stand"},
		{"queue", "No lorry waits on the public road"},
		{"runoff", "Water off the road goes to its silt trap"},
		{"paths", "Where people cross, the crossing is safe and open"},
	}}
}

func boundaries() Checklist {
	return Checklist{"boundaries", "Fences, trees and wildlife", []Item{
		{"stock", "The boundary keeps stock out"},
		{"trees", "Tree protection fences stand whole and in line"},
		{"inside", "Nothing is stored, driven or burned inside them"},
		{"roots", "No roots are cut and no levels changed near trees"},
		{"nests", "Today's clearing has a check by the named specialist that still holds"},
		{"buffers", "Areas to keep out of are marked and kept"},
		{"holes", "Open holes have a way out for animals"},
		{"weeds", "Invasive plants are marked and left alone"},
		{"light", "Lights are off, or turned from hedges and sky"},
		{"paths", "Public paths are open and safe"},
	}}
}

func spoil() Checklist {
	return Checklist{"spoil", "Spoil and waste", []Item{
		{"footprint", "Spoil lies inside its approved outline"},
		{"height", "Spoil looks no higher than it may be; survey settles doubt"},
		{"cracks", "No crack, bulge or water shows at the foot; if any does, people keep away"},
		{"notes", "Every load has its note and its carrier's registration"},
		{"tally", "Tickets and notes agree in number"},
		{"special", "Hazardous waste stands apart with its papers"},
		{"washout", "Concrete wash-out is contained; it burns skin and eyes"},
		{"import", "Nothing was brought in without its test"},
		{"skips", "Skips are covered and labelled"},
		{"fires", "Nothing is burned"},
	}}
}

func restored() Checklist {
	return Checklist{"restored", "Restored ground", []Item{
		{"formation", "Levels below the soil were checked before soil was placed"},
		{"loosened", "Each layer was loosened to its depth and spacing"},
		{"stones", "Large stones are picked"},
		{"order", "Subsoil lies under topsoil, to the depths wanted, by pits"},
		{"traffic", "Nothing drives on placed soil"},
		{"dry", "Soil was dry when placed"},
		{"drains", "Field drains and outfalls were found, joined and marked"},
		{"seed", "Seedbed, seed and rate are as agreed"},
		{"cover", "Grass covers the ground, without bare patches"},
		{"ponds", "No water stands after rain"},
		{"fences", "Fences, gates and ditches are back as promised"},
	}}
}
