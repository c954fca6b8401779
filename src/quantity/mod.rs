//! Quantities of the trade, exact: what was written is what is compared. No binary fractions in here.
//!
//! Plain numbers in a ledger are mm, N·m, °C, kg and N; a KDL type annotation says otherwise: `(um)12`, `(in)0.75`.

mod amounts;
mod decimal;
mod moment;
mod spelling;
mod unit;

pub use amounts::{
    Acceleration, Amount, Angle, Force, Length, Mass, PerKelvin, Ratio, SecondMoment, Stiffness, Stress, Temperature,
    TemperatureDifference, Torque, Travel,
};
pub use decimal::{AmountError, Decimal};
pub use moment::{Moment, Months};
pub use spelling::better_spelling;
pub use unit::{Dimension, Unit, units_of};
