package sense

import "fmt"

// quantityNames are the names of the quantities, in the order of the constants.
var quantityNames = [NumQuantities]string{
	"flow share", "drag after", "drag before", "dP low", "dP high", "dP raw", "trigger", "stop", "recovered",
	"drop per cycle", "drop per pulse", "rise rate", "rise bend", "cycles per hour", "pulses per hour",
	"pulses per cycle", "cleaning share", "header level", "header drop", "header recovery", "header trend",
	"after-filter", "fan current ratio", "fan power ratio", "fan current", "fan power", "inlet SP", "inlet SP ratio",
	"damper", "reading noise", "frozen share", "negative share", "stopped dP", "emission", "emission peak",
	"bin fill", "humidity", "temperature", "running hours", "bin rate", "hourly rise",
	"dust taken", "air beyond habit", "suction beyond habit", "motor beyond habit",
	"duct beyond habit", "load beyond habit", "draw beyond habit",
	"after-filter beyond habit", "header lacks while pulsing", "header noise", "header behind after cleaning", "header swing", "header lowest",
	"airflow over the fan curve's", "stopped dP from hour to hour", "dP fall time", "dP floor", "dP ceiling",
	"header with the fan standing", "header sags while running", "header emptied by cleaning", "dP swing", "dP at start-up", "dP span within an hour",
}

// String returns the quantity's name in plain words.
func (q Quantity) String() string {
	if q < NumQuantities {
		return quantityNames[q]
	}
	return fmt.Sprintf("quantity %d", uint8(q))
}
