"""Air, coolant and oil temperatures of a fan drive with its radiator, written a second time.

Sought by SciPy's root finders: the fan's speed in the oil circuit, the air's flow, and coolant, oil and air temperature. The
core's effectiveness is that of the library ht (crossflow, both streams unmixed, integrated), which shares nothing with the
program's series. All in SI.
"""

from math import exp, pi, sqrt

from ht import effectiveness_from_NTU
from scipy.optimize import least_squares

from circuit import GAS_CONSTANT_AIR, Circuit, atmosphere, brent

GRAVITY = 9.80665
RATING_DENSITY = 1.2
SURFACE_AT = 70.0
SURFACE_EXPONENT = 0.33
BACK_ON = 3.0
LOADS_FROM, LOADS_FULL = 278.15, 298.15
DRIFT = 1.0
UPSTREAM_MOST = 423.15
OIL_COOLER_EXPONENT = 0.5
LIQUID_EXPONENT = 0.8
TUBES = 0.4
FRONTS = ("front_1", "front_2", "front_3")


# Fluids


def air_capacity(t):
    """J/(kg K), Wark 1983."""
    return 287.05 * (3.653 - 1.337e-3 * t + 3.294e-6 * t**2 - 1.913e-9 * t**3 + 0.2763e-12 * t**4)


def coolant_density(x, t):
    h = (t - 273.15) / 100
    return 1000.75 + 183.4765 * x - 45.25099 * x**2 - 18.83752 * h - 30.01527 * x * h - 24.34246 * h**2


def coolant_heat_capacity(x, t):
    h = (t - 273.15) / 100
    return 4093.906 - 1530.796 * x - 498.7785 * x**2 + 125.9137 * h + 519.5511 * x * h


def coolant_conductivity(x, t):
    h = (t - 273.15) / 100
    return (
        0.5617386
        - 0.5107817 * x
        + 0.2272692 * x**2
        + 0.1981117 * h
        - 0.2125904 * x * h
        - 0.08701776 * h**2
        + 0.09517943 * x * h**2
    )


def coolant_viscosity(x, t):
    u = 1 / ((t - 273.15) / 100 + 1.3)
    a = -10.77109 + 4.110309 * x - 7.830112 * x**2
    b = 6.39748 - 7.392945 * x + 21.52299 * x**2
    c = -1.10943 + 8.422716 * x - 14.59819 * x**2
    return exp(a + b * u + c * u**2)


def film(x, t):
    """Dittus and Boelter, over that of half glycol at 90 °C."""

    def size(x, t):
        mu, cp = coolant_viscosity(x, t), coolant_heat_capacity(x, t)
        return (coolant_density(x, t) / mu) ** 0.8 * (cp * mu) ** 0.4 * coolant_conductivity(x, t) ** 0.6

    return size(x, t) / size(0.5, 363.15)


def clamped(x):
    return min(max(x, 0.0), 1.0)


class Air:
    """What the fan moves, at any speed."""

    def __init__(self, c):
        self.c = c
        self.size = c["fan.diameter"] / c["fan.rated_diameter"]
        ambient, behind = c["now.ambient"], c["now.air_temp"]
        pressure = atmosphere(c["now.altitude"])
        self.outer = pressure / (GAS_CONSTANT_AIR * ambient)
        self.inner = pressure / (GAS_CONSTANT_AIR * behind)
        swelling = (behind / ambient + 1) / 2
        rated = c["core.rated_air_speed"]
        self.zones = []  # area, linear, square, lift, share, front
        taken = 0.0
        for front in FRONTS:
            if front + ".share" in c:
                self.zones.append((c[front + ".share"], front))
                taken += c[front + ".share"]
        self.zones.append((1 - taken, None))
        self.ways = []
        for share, front in self.zones:
            area = c["core.face"] * share * (1 - c["core.blocked"])
            drop, lift, fan = c["core.rated_drop"] * c["core.fouling"], 0.0, 0.0
            if front:
                on = c[front + ".auxiliary"]
                drop += c[front + ".drop"] + c[front + ".auxiliary_drop"] * (1 - on)
                lift = c[front + ".auxiliary_pressure"] * on * self.outer / RATING_DENSITY
                fan = lift * (area / c[front + ".auxiliary_flow"]) ** 2
            linear = drop * c["core.linear"] / rated * swelling
            square = drop * (1 - c["core.linear"]) / rated**2 * self.outer / RATING_DENSITY * swelling + fan
            self.ways.append((area, linear, square, lift))
        self.ram = c["air.ram"] * self.outer * c["now.road_speed"] ** 2 / 2
        self.loss = (c["air.grille"] / self.outer + c["air.exit"] / self.inner) / (2 * c["core.face"] ** 2)

    def over_rating(self, shut, slope, omega, flow):
        n, q = omega / self.c["fan.rated_speed"], flow / (self.c["fan_curve.flow"] * self.size**3)
        return (shut * n**2 + slope * n * q + (1 - shut - slope) * q * abs(q)) * self.inner / self.c["fan.rated_density"]

    def over_core(self, omega, mass):
        c = self.c
        curve = self.over_rating(c["fan_curve.shut_pressure"], c["fan_curve.pressure_slope"], omega, mass / self.inner)
        return self.ram - self.loss * mass * abs(mass) + c["fan_curve.pressure"] * self.size**2 * curve

    @staticmethod
    def speed(way, drop):
        _, linear, square, lift = way
        drive = drop + lift
        root_ = (-linear + sqrt(linear**2 + 4 * square * abs(drive))) / (2 * square)
        return root_ if drive >= 0 else -root_

    def mass(self, omega):
        def surplus(mass):
            drop = self.over_core(omega, mass)
            return self.outer * sum(way[0] * self.speed(way, drop) for way in self.ways) - mass

        return brent(surplus, 0.0, 50.0)

    def torque(self, omega):
        c = self.c
        flow = self.mass(omega) / self.inner
        over = self.over_rating(c["fan_curve.shut_torque"], c["fan_curve.torque_slope"], omega, flow)
        return c["fan.rated_power"] / c["fan.rated_speed"] * self.size**5 * over


class Drive(Circuit):
    """The oil circuit, its fan in the air as that balances."""

    def __init__(self, inputs, shape, oil):
        self.air = Air(inputs)
        super().__init__(inputs, shape, oil)

    def fan_torque(self, omega):
        return self.air.torque(omega)

    def motor_drop(self, omega):
        # Slower than the air would turn it, oil joins through a check valve; no case here balances there.
        return max(super().motor_drop(omega), 0.0)

    def powers(self, omega):
        """Power at the pump's shaft and at the fan's, of a pump that fills."""
        _, pump, _ = self.circuit(omega)
        return self.pump_torque(pump["drop"], pump["speed"]) * pump["speed"], self.fan_torque(omega) * omega


class Heat:
    """Coolant, oil and air temperature at one condition."""

    def __init__(self, inputs, shape, oil):
        self.given, self.shape, self.oil = inputs, shape, oil

    def left_over(self, unknowns):
        """Heat that stays in coolant, oil and the air behind the core, over what flows."""
        coolant, oil_temp, behind = (float(x) for x in unknowns)
        c = self.c = dict(self.given)
        c["now.oil_temp"], c["now.air_temp"] = oil_temp, behind
        if "fan_control.begins" in c:
            asked = (coolant - c["fan_control.begins"]) / max(c["fan_control.full"] - c["fan_control.begins"], 0.1)
            c["now.command"] = max(clamped(asked), c["fan_control.air_conditioning"] * c["now.air_conditioning"])
        drive = Drive(c, self.shape, self.oil)
        self.omega = omega = drive.fan_speed()
        pump_power, fan_power = drive.powers(omega)
        air, ambient = drive.air, c["now.ambient"]
        mass = air.mass(omega)
        drop = air.over_core(omega, mass)

        round_again = c["air.recirculation"] * exp(-c["now.road_speed"] / c["air.recirculation_speed"])
        intake = ambient + round_again * (behind - ambient)
        cp = air_capacity((intake + behind) / 2)

        conditioning = c["now.air_conditioning"] * clamped((ambient - LOADS_FROM) / (LOADS_FULL - LOADS_FROM))
        conditioning *= clamped((c["coolant.air_conditioning_off"] - coolant) / BACK_ON)
        compressor = c["engine.air_conditioning"] * conditioning
        power = c["engine.accessories"] + c["now.work"] + pump_power
        if "vehicle.mass" in c and c["now.road_speed"] > 0:
            v, trailer = c["now.road_speed"], c["now.trailer"]
            area = c["vehicle.drag_area"] + (c["vehicle.trailer_drag_area"] if trailer > 0 else 0.0)
            weight = (c["vehicle.mass"] + trailer) * GRAVITY / sqrt(1 + c["now.grade"] ** 2)
            force = weight * (c["vehicle.rolling"] + c["now.grade"]) + air.outer * area * v**2 / 2
            power += max(force * v, 0.0) / c["vehicle.driveline"]
        load = min((power + compressor) / c["engine.rated_power"], 1.0)
        friction = c["engine.friction"] * c["engine.displacement"] * c["now.engine_speed"] / (4 * pi)
        open_ = 1 - c["core.blocked_tubes"]
        flow = c["coolant_pump.flow"] * c["coolant_pump.health"] * c["now.engine_speed"] / c["coolant_pump.rated_speed"]
        flow *= min(open_ / sqrt(TUBES + (1 - TUBES) * open_**2), 1.0)
        opens, full = c["thermostat.opens"], c["thermostat.full"]
        opening = clamped((coolant - opens) / max(full - opens, 0.1))
        flow *= min(max(opening, c["thermostat.least"]), c["thermostat.most"])
        glycol = c["coolant.glycol"]
        stream = flow * coolant_density(glycol, coolant) * coolant_heat_capacity(glycol, coolant)

        radiator = cooler = ahead = condenser = asked_of_it = 0.0
        for (part, front), way in zip(air.zones, air.ways):
            v = air.speed(way, drop)
            capacity = air.outer * way[0] * v * cp
            warming = 0.0
            if front:
                passes = c["oil_heat.cooler"] * c[front + ".oil_cooler"]
                passes *= (v / c["core.rated_air_speed"]) ** OIL_COOLER_EXPONENT
                from_oil = min(passes, capacity) * (oil_temp - intake)
                asked_of_it += c[front + ".condenser"] * conditioning
                most = c[front + ".condenser_reach"] * capacity * (c[front + ".condenser_most"] - intake)
                given = min(c[front + ".condenser"] * conditioning, max(most, 0.0))
                idle = c[front + ".other_idle"]
                other = min(c[front + ".other_heat"] * (idle + (1 - idle) * load), capacity * (UPSTREAM_MOST - intake))
                condenser += given
                cooler, ahead, warming = cooler + from_oil, ahead + given + other, from_oil + given + other
            if flow > 0:
                side = (v / c["core.rated_air_speed"]) ** c["core.air_exponent"]
                tubes = (flow / c["core.rated_coolant_flow"]) ** LIQUID_EXPONENT * film(glycol, coolant)
                ua = c["core.conductance"] / (c["core.air_side"] / side + (1 - c["core.air_side"]) / tubes)
                ua *= part * (1 - c["core.blocked"]) * open_
                ends = sorted((capacity * open_, stream * part))
                got = effectiveness_from_NTU(ua / ends[0], ends[0] / ends[1], subtype="crossflow")
                radiator += got * ends[0] * (coolant - intake - warming / capacity)

        power += compressor * (condenser / asked_of_it if asked_of_it > 0 else 1.0)
        fuel = (power + friction) / c["engine.efficiency"]
        idles = friction * (1 - min(power / c["engine.rated_power"], 1.0)) / (friction + power)
        share = c["engine.full_share"] + (c["engine.idle_share"] - c["engine.full_share"]) * idles
        engine_heat = share * fuel * c["engine.excess"]
        cabin = c["coolant.heater"] * c["now.cabin_heater"] * (coolant - ambient)

        def lost(metal):
            over = metal - behind
            grown = (abs(over) / SURFACE_AT) ** SURFACE_EXPONENT
            return c["engine.surface"] * c["engine.surface_running"] * grown * over

        def stays(metal):
            return (
                engine_heat
                - lost(metal)
                - c["oil_heat.engine"] * (metal - oil_temp)
                - c["engine.metal_to_coolant"] * (metal - coolant)
            )

        metal = brent(stays, 100.0, 900.0)
        from_metal = c["oil_heat.engine"] * (metal - oil_temp)
        engine_heat -= lost(metal) + from_metal + cabin

        oil_heat = pump_power - fan_power + from_metal
        surface = c["oil_heat.surface"] * (oil_temp - behind)
        carried = mass * cp * (behind - intake) + DRIFT**2 / (DRIFT + mass * cp) * (behind - ambient)
        return [
            (engine_heat - radiator) / engine_heat,
            (oil_heat - cooler - surface) / oil_heat,
            (radiator + cooler + ahead - carried) / engine_heat,
        ]

    def solve(self):
        """Coolant, oil and air temperature, K, and the fan's speed, rad/s; from usual values."""
        c = self.given
        middle = (c["thermostat.opens"] + c["thermostat.full"]) / 2
        start = [middle, c["now.oil_temp"], c["now.ambient"] + 30]
        # With the thermostat shut the core cools nothing, and no slope leads out of there.
        low, high = [c["thermostat.opens"] + 0.01, 233.15, c["now.ambient"]], [473.15, 473.15, 673.15]
        tight = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15}
        found = least_squares(self.left_over, start, bounds=(low, high), x_scale=10.0, **tight)
        left = max(abs(x) for x in self.left_over(found.x))
        return [*found.x, self.omega], left
