//! What a crew looks at when several ways of a trip have as few stops.

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// Little driving; 10 km more or less are no difference.
    Driving,
    /// Little to pay; less than one unit of money is no difference.
    Cost,
    /// No two stops on neighbouring days.
    Apart,
    /// Stops that lie evenly over the trip.
    Even,
    /// The same place again, rather than another one each time.
    OnePlace,
    /// Arriving in daylight.
    Daylight,
    /// Few errands, all stops together.
    Errands,
}

/// All of them in the order that counts where the rig names none. Common practice, no source.
pub const WISHES: [(&str, Wish); 7] = [
    ("driving", Wish::Driving),
    ("cost", Wish::Cost),
    ("apart", Wish::Apart),
    ("even", Wish::Even),
    ("one place", Wish::OnePlace),
    ("daylight", Wish::Daylight),
    ("errands", Wish::Errands),
];

/// The whole order: those that a rig names first, the others after them as usual.
pub fn in_order(named: &[Wish]) -> Vec<Wish> {
    let others = WISHES.iter().map(|(_, wish)| *wish).filter(|wish| !named.contains(wish));
    named.iter().copied().chain(others).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted by hand.
    #[test]
    fn what_is_named_goes_first_and_nothing_is_lost() {
        let order = in_order(&[Wish::Even, Wish::Daylight]);
        assert_eq!(order[..3], [Wish::Even, Wish::Daylight, Wish::Driving]);
        assert_eq!(order.len(), WISHES.len());
    }
}
