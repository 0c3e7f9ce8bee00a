"""The oil circuit of a fan drive, written a second time from guide/model.md alone, with SciPy's root finder.

All in SI. A case is a dictionary of inputs by key ("pump.displacement"), of choices, and the oil's viscosity points.
"""

from math import exp, log, log10, pi, sqrt, tanh

from scipy.optimize import brentq

GAS_CONSTANT_AIR = 287.05287  # J/(kg K), ISO 2533
POLYTROPIC = 1.2
LEAK_DISCHARGE = 0.61
BARUS_CAP = 100e6  # Pa
DRAG_REFERENCE = 0.03  # Pa s
CHECK_RISE = 10e3  # Pa at the motor's flow at 200 rad/s


def brent(function, low, high):
    return brentq(function, low, high, xtol=1e-14 * max(abs(low), abs(high)), rtol=1e-14, maxiter=200)


# Oil and air


def d341_z(nu):
    """ASTM D341 in full, nu in mm2/s."""
    return (
        nu
        + 0.7
        + exp(-1.14883 - 2.65868 * nu)
        - exp(-0.0038138 - 12.5645 * nu)
        + exp(5.46491 - 37.6289 * nu)
        - exp(13.0458 - 74.6851 * nu)
        + exp(37.4619 - 192.643 * nu)
        - exp(80.4945 - 400.468 * nu)
    )


def kinematic_viscosity(points, temperature):
    """Straight lines of log log Z over log T between neighbouring points; the end lines go on."""
    points = sorted(points)
    pair = next((i for i in range(1, len(points) - 1) if temperature <= points[i][0]), len(points) - 1)
    (t1, nu1), (t2, nu2) = points[pair - 1], points[pair]
    w1, w2 = (log10(log10(d341_z(nu * 1e6))) for nu in (nu1, nu2))
    share = (log10(temperature) - log10(t1)) / (log10(t2) - log10(t1))
    z = 10 ** (10 ** (w1 + share * (w2 - w1)))
    nu = z - 0.7
    if nu < 10:  # where C to H count
        nu = brent(lambda x: d341_z(x) - z, 0.21, z)
    return nu * 1e-6


def atmosphere(altitude):
    """ISO 2533, Pa."""
    height = 6356766 * altitude / (6356766 + altitude)
    return 101325 * (1 - 0.0065 * height / 288.15) ** 5.255880


def barus(viscosity, coefficient, pressure):
    return viscosity * exp(coefficient * min(pressure, BARUS_CAP))


# Flow


def signed_root(x):
    return sqrt(x) if x >= 0 else -sqrt(-x)


def orifice(coefficient, area, drop, density):
    return coefficient * area * signed_root(2 * drop / density)


def churchill(reynolds, roughness):
    """Darcy's friction factor."""
    if reynolds < 100:
        return 64 / reynolds
    a = (2.457 * log(1 / ((7 / reynolds) ** 0.9 + 0.27 * roughness))) ** 16
    b = (37530 / reynolds) ** 16
    return 8 * ((8 / reynolds) ** 12 + (a + b) ** -1.5) ** (1 / 12)


def pipe_drop(length, bore, roughness, fittings, flow, nu, density):
    if flow == 0:
        return 0.0
    speed = 4 * flow / (pi * bore**2)
    factor = churchill(abs(speed) * bore / nu, roughness / bore)
    return (factor * length / bore + fittings) * density * speed * abs(speed) / 2


def regulated_flow(case, nu, density):
    """An orifice after McCloy and Martin, sized so that it passes the rated flow of the rated oil."""
    drop, most, critical = (case["regulator." + k] for k in ("spring_drop", "discharge", "critical"))

    def passes(diameter, nu, density):
        number = diameter / nu * sqrt(2 * drop / density)
        return orifice(most * tanh(2 * number / critical), pi / 4 * diameter**2, drop, density)

    rated = case["regulator.rated_flow"]
    rated_nu, rated_density = case["regulator.rated_viscosity"], case["regulator.rated_density"]
    turbulent = sqrt(rated / (most * pi / 4 * sqrt(2 * drop / rated_density)))
    diameter = brent(lambda d: passes(d, rated_nu, rated_density) - rated, 0.9 * turbulent, 1000 * turbulent)
    return passes(diameter, nu, density)


class Circuit:
    """The circuit at one condition; `left_over` is the flow that nothing takes at a fan speed."""

    def __init__(self, inputs, shape, oil):
        self.case, self.shape = inputs, shape
        c = inputs
        temperature = c["now.oil_temp"]
        self.density = c["oil.density"] * (1 - c["oil.expansion"] * (temperature - 288.15))
        self.nu = kinematic_viscosity(oil, temperature) * c["oil.thickness"]
        self.mu = self.nu * self.density
        self.clearance = self.mu * c["oil.shear_loss"]
        self.barus = c["oil.pressure_viscosity"]
        self.atmosphere = atmosphere(c["now.altitude"])
        self.tank = self.atmosphere + c["reservoir.pressure"]
        air = self.atmosphere / (GAS_CONSTANT_AIR * c["now.air_temp"])
        size = (c["fan.diameter"] / c["fan.rated_diameter"]) ** 5
        self.fan_factor = c["fan.rated_power"] / c["fan.rated_speed"] ** 3 * size * air / c["fan.rated_density"]
        self.pump_speed = c["now.engine_speed"] * c["pump.ratio"]
        self.swept = c["pump.displacement"] * self.pump_speed
        self.regulated = regulated_flow(c, self.nu, self.density) if "regulator.rated_flow" in c else None
        asked = min(c["now.command"], c["control.ceiling"])
        self.asked = c["control.fail_safe"] if shape["unplugged"] else asked
        self.command = self.asked
        self.given_valve = None
        self.hose_most = self.most_drawn()

    # Lines

    def line_drop(self, name, flow, nu):
        parts = (self.case[f"{name}.{k}"] for k in ("length", "bore", "roughness", "fittings"))
        return pipe_drop(*parts, flow, nu, self.density)

    def element_drop(self, name, flow):
        if name + ".bypass" not in self.case:
            return 0.0
        return min(self.case[name + ".resistance"] * self.mu * flow, self.case[name + ".bypass"])

    # The inlet

    def inlet(self, hose):
        """Absolute pressure at the pump's inlet where the hose carries a flow."""
        return self.tank - self.line_drop("suction", hose, self.nu) - self.element_drop("screen", hose)

    def most_drawn(self):
        """The hose's flow at which the inlet pressure is down to what filling takes; infinite where the pump cannot draw it."""
        c = self.case
        release = c["oil.air_release"]
        least, rated = max(c["pump.least_inlet"], release), c["pump.displacement"] * c["pump.fill_speed"]

        def spare(hose):
            return self.inlet(hose) - release - (least - release) * (hose / rated) ** 2

        if self.swept <= 0 or spare(self.swept) >= 0:
            return float("inf")
        return brent(spare, 0.0, self.swept) if self.tank > release else 0.0

    def liquid(self, inlet, outlet):
        """What is left, at the outlet's pressure, of a volume with free air at the inlet's; absolute pressures."""
        return 1 + self.case["oil.air"] * ((inlet / outlet) ** (1 / POLYTROPIC) - 1)

    def hose_flow(self, leaves, outlet):
        """The hose's flow, at the inlet's pressure, where a flow leaves the pump."""
        leaves, most = max(leaves, 0.0), min(self.hose_most, self.swept * (1 + 1e-9))
        if self.case["oil.air"] == 0:
            return min(leaves, most)

        def lacks(hose):
            return hose * self.liquid(self.inlet(hose), outlet) - leaves

        return brent(lacks, 0.0, most) if lacks(most) > 0 else most

    # Pump and motor

    def slip(self, machine, drop):
        size = self.case[machine + ".displacement"]
        viscosity = barus(self.clearance, self.barus, abs(drop) / 2)
        laminar = self.case[machine + ".slip"] * size * drop / viscosity
        turbulent = self.case[machine + ".turbulent_slip"] * size ** (2 / 3) * signed_root(2 * drop / self.density)
        return laminar + turbulent

    def drag(self, machine):
        """Torque of viscous friction over displacement and speed."""
        thick = self.clearance / DRAG_REFERENCE
        return self.case[machine + ".drag"] * DRAG_REFERENCE * thick ** self.case[machine + ".drag_exponent"]

    def fan_torque(self, omega):
        return self.fan_factor * omega**2

    def motor_drop(self, omega):
        c = self.case
        size = c["motor.displacement"]
        torque = self.fan_torque(omega) + self.drag("motor") * size * omega + c["motor.dry_torque"]
        sign = 1 if torque >= 0 else -1
        return torque / (size * (1 - sign * c["motor.friction"]))

    def valve_flow(self, drop):
        c = self.case
        leak = orifice(LEAK_DISCHARGE, pi / 4 * c["valve.leak"] ** 2, max(drop, 0.0), self.density)
        if self.given_valve is not None:
            return self.given_valve + leak
        low, high = c["valve.low"], c["valve.high"]
        opens_at = low + (high - low) * max(self.command, c["valve.least_command"])
        return max((drop - opens_at) / c["valve.slope"], 0.0) + leak

    def pump_torque(self, drop, speed):
        c = self.case
        size = c["pump.displacement"]
        return size * (drop + c["pump.friction"] * abs(drop) + self.drag("pump") * speed) + c["pump.dry_torque"]

    def belt_speed(self, drop):
        """The highest speed up to the engine's at which the belt carries the pump's torque."""
        c = self.case
        if "belt.torque_limit" not in c or self.pump_speed <= 0:
            return self.pump_speed
        limit, growth = c["belt.torque_limit"] * c["belt.grip"], c["belt.growth"]

        def spare(speed):
            return limit * (1 + growth * (1 - speed / self.pump_speed)) - self.pump_torque(drop, speed)

        # Both torques are straight in speed.
        still, full = spare(0.0), spare(self.pump_speed)
        return self.pump_speed * min(still / (still - full), 1.0)

    def pump(self, outlet, leaves):
        """Speed, inlet pressure, what it would deliver, and what filling and regulator leave of that, at a gauge pressure and
        a flow that leaves it."""
        c, outer = self.case, outlet + self.atmosphere
        inlet = self.inlet(self.hose_flow(leaves, outer))
        drop = outer - inlet
        held = 0.0
        if self.regulated is not None:
            held = c["regulator.spring_drop"] * min(max(leaves, 0.0) / self.regulated, 1.0) ** 2
        speed = self.belt_speed(drop + held)
        displaced = c["pump.displacement"] * speed * self.liquid(inlet, outer) - self.slip("pump", drop)
        source = displaced
        if self.hose_most < float("inf"):
            source = min(source, self.hose_most * self.liquid(self.inlet(self.hose_most), outer))
        if self.regulated is not None:
            source = min(source, self.regulated)
        return {"speed": speed, "inlet": inlet, "drop": drop + held, "displaced": displaced, "source": source}

    # The whole

    def circuit(self, omega):
        """Gauge pressure at the pump, the pump, flow that is taken there, and what valve and relief pass."""
        c, shape = self.case, self.shape
        motor_drop = self.motor_drop(omega)
        check = max(-motor_drop - c["motor.anti_cavitation"], 0.0) * c["motor.displacement"] * 200 / CHECK_RISE
        motor_flow = c["motor.displacement"] * omega + self.slip("motor", motor_drop) - check
        beside = shape["valve_to_motor_outlet"]
        line_flow = max(motor_flow, 0.0) + (self.valve_flow(motor_drop) if beside else 0.0)

        back = self.line_drop("return", line_flow, self.nu) + self.element_drop("filter", line_flow)
        if "cooler.bore" in c:
            parts = (c["cooler." + k] for k in ("length", "bore", "roughness", "fittings"))
            each = pipe_drop(*parts, line_flow / c["cooler.tubes"], self.nu, self.density)
            back += min(each, c["cooler.bypass"])
        steers = "steering.pressure" in c
        if steers and not shape["steering_first"]:
            back += c["steering.pressure"]
        nu_under_pressure = barus(self.nu, self.barus, max(motor_drop, 0.0))
        above_tank = back + motor_drop + self.line_drop("supply", line_flow, nu_under_pressure)
        above_tank = max(above_tank, -0.9 * self.atmosphere - c["reservoir.pressure"])
        valve_flow = self.valve_flow(motor_drop if beside else above_tank)
        first = 0.0
        if steers and shape["steering_first"]:
            first = c["steering.flow"]
            above_tank = max(above_tank, c["steering.pressure"])
        relief_flow = max((above_tank - c["relief.setting"]) / c["relief.slope"], 0.0)
        outlet = c["reservoir.pressure"] + above_tank
        taken = first + valve_flow + relief_flow + motor_flow
        return outlet, self.pump(outlet, taken), taken

    def left_over(self, omega):
        _, pump, taken = self.circuit(omega)
        return pump["source"] - taken

    def open_loop(self):
        high = self.swept / self.case["motor.displacement"]
        if high <= 0 or self.left_over(0.0) <= 0:
            return 0.0
        return brent(self.left_over, 0.0, high * (1 + 1e-9))

    def fan_speed(self):
        """Where the flow balances; with a governor the speed that it holds, if a command between its ends can."""
        if "governor.full_speed" not in self.case:
            return self.open_loop()
        target = self.case["governor.full_speed"] * self.asked
        self.command = 0.0
        if target <= 0 or self.left_over(target) >= 0:
            return self.open_loop()
        self.command = 1.0
        if self.left_over(target) <= 0:
            return self.open_loop()

        def surplus(flow):
            self.given_valve = flow
            return self.left_over(target)

        self.given_valve = brent(surplus, 0.0, self.swept)
        return target
