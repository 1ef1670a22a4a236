// Package fan is the fan that moves the collector's air, the motor that turns it and the damper that
// throttles it: a curve of static pressure and shaft power at one speed and density, the fan laws that
// carry it to others, the way from shaft power to motor amps and back with its width, the loss of an
// inlet elbow, and the loss of a damper over its blade position with the commissioning points that
// calibrate it. It leaves out sound, vibration, surge dynamics and speed control by inverter losses.
// Main sources: US DOE fan and motor fact sheets, AMCA 201 and ASHRAE inlet-elbow coefficients,
// SMACNA/ASHRAE damper tables and the exponential damper law of ASHRAE 825-RP; each beside its code.
package fan
