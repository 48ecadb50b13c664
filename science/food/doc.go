// Package food knows what foods hold, what people need, how much of a food a
// person can eat, and what cooking does to it.
//
// In it: composition of foods per 100 g (Lookup, Foods), energy needs
// (EnergyNeed2005 and its alternatives), reference intakes by life stage
// (ReferenceIntake, Target), the adequacy of an intake (Adequacy, Weight),
// portion limits (Limits), raw to cooked (CookedForms, Retention), and the
// cautions that belong to foods, menus and people.
//
// Not here: what a bed or tank yields (packages crop and fish), what is in the
// store cupboard (larder), which menu is best (menu).
//
// Units: grams of food, kcal and the unit in each nutrient's key per 100 g
// edible or per day; kilograms, metres and years for people.
//
// Valid: persons of 1 to 120 years. A blank in a table is unknown and never
// zero. Food values are averages of tables and needs are averages of healthy
// people: energy is good to 10 to 20 percent (leaves worse), protein to 20 to
// 30 percent, iron and vitamin C to a factor of two. Nothing here is medical
// advice. Iodine is not computed: the tables do not hold it.
//
// Sources: USDA SR28 (2016), IOM 2005, NASEM 2019 and 2023, FAO/WHO/UNU 2004,
// Mifflin et al. 1990; each embedded row names its own. [P] means a published
// figure, [M] from memory, [T] common practice without a source, [C] computed
// from marked figures.
package food
