package site

// Schema is the number of the description's layout that this program writes.
// Older numbers are brought up to it on reading; newer ones are refused.
const Schema = 1

// Site is one building.
type Site struct {
	Schema int    `yaml:"schema" need:"yes"`
	Name   string `yaml:"name" need:"yes"`
	Note   string `yaml:"note"`
	Units  string `yaml:"units" oneof:"metric,us-customary"` // how figures are shown
	// EnergyEdition is the edition of the energy needs: 2005 (default) or 2023.
	EnergyEdition string `yaml:"energy-edition" oneof:"2005,2023"`
	Currency      string `yaml:"currency"` // ISO 4217 code; default EUR

	Place    Place          `yaml:"place" need:"yes"`
	Zones    []Zone         `yaml:"zones"`
	Surfaces []Surface      `yaml:"surfaces"`
	Loops    []Loop         `yaml:"loops"`
	Lamps    []Lamp         `yaml:"lamps"`
	Heaters  []Heater       `yaml:"heaters"`
	Power    Power          `yaml:"power"`
	Fuels    []FuelStore    `yaml:"fuels"`
	Feeds    []Feed         `yaml:"feeds"`
	Waters   []SourceWater  `yaml:"waters"`
	Crops    []CropWish     `yaml:"crops"`
	Larder   []LarderPlace  `yaml:"larder"`
	Racks    []Rack         `yaml:"racks"`
	Greens   []TrayGreen    `yaml:"greens"`
	Buyers   []Buyer        `yaml:"buyers"`
	People   []Person       `yaml:"people"`
	HomeFed  []HomeFedDays  `yaml:"home-fed"`
	Cupboard []CupboardFood `yaml:"cupboard"`
	Others   []OtherSource  `yaml:"other-sources"`
	Prices   Prices         `yaml:"prices"`
	Labour   Labour         `yaml:"labour"`
	Opening  Opening        `yaml:"opening"`
}
