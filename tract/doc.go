// Package tract says where the pressure is lost along the way of the air: pieces measured apart and put in series,
// a throttle body, and the ledger of one passage, each with the published correlation it rests on and its spread.
//
// Losses are of total pressure. A loss coefficient K is the total-pressure loss over the velocity head ½ρV² of the
// section that is named beside it. An effective area is that of an ideal nozzle passing the same mass flow from the
// same upstream total pressure to the same downstream static pressure.
package tract
