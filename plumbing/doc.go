// Package plumbing is the pump, pipes, valves, siphons and beds of a loop as the
// site describes them: how much runs where, whether each bed floods and drains,
// what the valves are to do, which pump serves for the least power, what happens
// when something fails, and what all this brings to the water of the season.
//
// In it: Draw makes a Scheme, the network of the pump's pipes with the beds and
// their drains; Scheme.Flow solves it; Plan makes the timetable of the valves; Run
// follows beds and sump through a time, with things broken where asked; Search
// compares pumps; Faults, Findings, Loads and Diagnose judge. StudyOf does most of
// it for a page. Of makes a Circuit: the loop as cells of water for package cells,
// and Circuit.Force what plumbing brings to them. Not here: friction, pumps and
// networks (package pipe), the siphon's own equations (package siphon), the
// chemistry (package cells), hours until fish suffer (package inhand).
//
// # What is simple, and what it costs
//
// The network is steady between two changes of a valve or a siphon; water hammer
// is not followed. A pipe that leaves a tank or bed carries what comes to it: a
// gravity header with valves of its own is not solved. Tanks, rafts and towers pass
// on at once what they get. The season takes the day's mean flow of each branch,
// and counts floods: a bed that floods and drains lets air to the water on its
// stones each time, and while it stands drained; one whose siphon does not cycle, or is doubtful, stands wet.
// Without pumps and pipes in the site the rule of one tank volume an hour stands
// in, half of it to the beds: common practice, no source.
//
// Oxygen that falling water brings is half of what the equation for weirs gives,
// to be on the safe side, or for a siphon's pulses what the equation with the flow
// gives, if that is more; water that trickles in over stones makes good three
// tenths of the want, the low end of what is known.
//
// Units: SI and in the names; the circuit m³/d, g/d. Valid: what package site
// admits, water of 0 to 45 °C.
//
// Sources: those of packages pipe and siphon; [butts-evans-1983],
// [nakasone-1987], [asce-oxygen-transfer] and the table of media in package water;
// the rest common practice, no source.
package plumbing
