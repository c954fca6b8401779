//! Which silent edits there are, and why each is silent.

use super::edits::Kind::{self, Doubled, Negated, Swapped, TakenAway, Tenfold, Tenth};

/// Edits that are silent for one reason.
pub(crate) struct Class {
    pub name: &'static str,
    pub reason: &'static str,
    /// What is done to which words.
    pub edits: &'static [(Kind, &'static [&'static str])],
}

/// The class of the rows that say the same in any order.
pub(crate) const ORDER_FREE: &str = "order-free";

/// Every class.
pub(crate) const CLASSES: &[Class] = &[
    Class {
        name: ORDER_FREE,
        reason: "rows of another order say the same; a row says itself which support, part or instrument it is about",
        edits: &[(
            Swapped,
            &[
                "fasten at",
                "fasten clicked",
                "machine axis beam",
                "machine axis carriage block",
                "machine axis carriage track",
                "machine axis rail",
                "machine axis rail joint-support",
                "machine axis service-interval",
                "receive part",
                "release idle",
                "release judged",
                "release sealed fact",
                "running-force at",
                "shim at",
                "shop fastener",
                "shop gauge",
                "shop gauge calibrated",
                "shop not-applicable",
                "shop shim-stock leaf",
                "shop wrench",
                "survey at",
            ],
        )],
    },
    Class {
        name: "reading within its limits",
        reason: "a reading that is another one and still lies within its limits is in order",
        edits: &[
            (Tenfold, &["inspect LL", "inspect LR", "inspect UL", "inspect UR", "survey at"]),
            (Tenth, &["inspect LR", "inspect UL", "inspect UR", "survey at"]),
            (Negated, &["inspect LL", "inspect LR", "inspect UL", "inspect UR", "survey at", "survey closure"]),
        ],
    },
    Class {
        name: "history",
        reason: "a later record of the same subject is what counts",
        edits: &[
            (
                TakenAway,
                &[
                    "fasten",
                    "fasten at",
                    "inspect",
                    "inspect LL",
                    "inspect LR",
                    "inspect UL",
                    "inspect UR",
                    "inspect carrier",
                    "inspect carrier reach=",
                    "inspect carrier travel=",
                    "inspect light",
                    "service",
                ],
            ),
            (Tenth, &["inspect carrier reach="]),
            (Tenfold, &["inspect carrier travel="]),
        ],
    },
    Class {
        name: "text for people",
        reason: "a title, a certificate's number, a delivery note: the papers show them",
        edits: &[(
            TakenAway,
            &[
                "machine title",
                "receive delivery=",
                "shop gauge calibrated certificate=",
                "shop wrench calibrated certificate=",
            ],
        )],
    },
    Class {
        name: "the default says the same",
        reason: "where nothing is said, what stood there holds: the run's own beginning, a year",
        edits: &[(
            TakenAway,
            &[
                "machine axis beam from=",
                "machine axis rail support bolts",
                "machine axis run from=",
                "shop gauge calibrated due=",
                "shop wrench calibrated due=",
            ],
        )],
    },
    Class {
        name: "compared where it is stated",
        reason: "what came in is compared with what is described as far as its note says something; a longer bar may have been cut",
        edits: &[(TakenAway, &["receive"])],
    },
    Class {
        name: "nobody asks for more",
        reason: "a requirement that is gone, longer or wider asks for less; a comparison shows that it changed",
        edits: &[
            (
                TakenAway,
                &[
                    "machine axis life-required",
                    "machine axis rail joint-support base-bolts=",
                    "machine axis rail supports base-bolts=",
                    "machine axis service-interval",
                    "machine axis service-interval months=",
                    "machine axis service-interval travelled=",
                    "machine axis temperature",
                    "release",
                ],
            ),
            (
                Tenfold,
                &[
                    "machine axis service-interval months=",
                    "machine axis service-interval travelled=",
                    "machine rulebook straightness most=",
                ],
            ),
            (Doubled, &["machine axis service-interval"]),
            (Tenth, &["machine axis life-required", "machine axis service-interval travelled="]),
        ],
    },
    Class {
        name: "nothing uses it",
        reason: "an entry of the shop file, or a part of one, that no machine below it needs for a verdict",
        edits: &[
            (
                TakenAway,
                &[
                    "shop block C0=",
                    "shop block C=",
                    "shop fastener",
                    "shop gauge",
                    "shop gauge calibrated",
                    "shop gauge graduation=",
                    "shop gauge kind=",
                    "shop gauge plus=",
                    "shop gauge range=",
                    "shop not-applicable",
                    "shop shim-stock",
                    "shop shim-stock leaf",
                    "shop shim-stock leaf count=",
                    "shop wrench",
                    "shop wrench calibrated",
                    "shop wrench graduation=",
                ],
            ),
            (Tenfold, &["shop shim-stock leaf", "shop shim-stock leaf count=", "shop wrench graduation="]),
            (Tenth, &["shop profile stock", "shop shim-stock leaf"]),
            (Doubled, &["shop profile stock", "shop shim-stock leaf"]),
        ],
    },
    Class {
        name: "room in its rule",
        reason: "a number that its rule has room for: a gauge reads further or finer, a wrench reaches further, a carriage is shorter, loads and tools lie elsewhere, a life is longer than required",
        edits: &[
            (
                Tenfold,
                &[
                    "machine axis carriage load x=",
                    "machine axis carriage load z=",
                    "machine axis carriage mass=",
                    "machine axis carriage track y=",
                    "machine axis life-required",
                    "machine axis stroke from=",
                    "shop gauge range=",
                ],
            ),
            (
                Tenth,
                &[
                    "machine axis carriage block at=",
                    "machine axis carriage load",
                    "machine axis carriage load x=",
                    "machine axis carriage load y=",
                    "machine axis carriage load z=",
                    "machine axis carriage mass=",
                    "machine axis carriage tool x=",
                    "machine axis carriage tool y=",
                    "machine axis carriage tool z=",
                    "machine axis carriage track y=",
                    "machine axis rail support length=",
                    "machine axis rail supports first=",
                    "machine axis stroke overtravel=",
                    "machine axis stroke to=",
                    "shop block length=",
                    "shop gauge graduation=",
                    "shop gauge range=",
                    "shop profile bolt-edge=",
                    "shop profile cutting grid=",
                ],
            ),
            (Swapped, &["machine axis beam piece"]),
            (Doubled, &["machine axis beam piece"]),
            (
                Negated,
                &[
                    "machine axis carriage load x=",
                    "machine axis carriage load z=",
                    "machine axis carriage mass x=",
                    "machine axis carriage mass y=",
                    "machine axis carriage mass z=",
                ],
            ),
            (
                TakenAway,
                &[
                    "machine axis carriage drive y=",
                    "machine axis carriage drive z=",
                    "machine axis carriage load",
                    "machine axis carriage load x=",
                    "machine axis carriage load z=",
                    "machine axis carriage mass=",
                    "machine axis stroke overtravel=",
                    "shop profile cutting grid=",
                ],
            ),
        ],
    },
    Class {
        name: "no limit of it is stated",
        reason: "expansion, straightness and running force are judged where a limit of them is stated, life where one is required",
        edits: &[
            (
                TakenAway,
                &[
                    "machine axis beam material=",
                    "machine axis temperature fitted=",
                    "running-force",
                    "running-force at",
                    "survey",
                ],
            ),
            (Tenfold, &["machine axis temperature fitted=", "machine axis temperature most="]),
            (Tenth, &["machine axis temperature fitted=", "machine axis temperature least="]),
            (Negated, &["machine axis temperature fitted=", "machine axis temperature least="]),
        ],
    },
    Class {
        name: "planning alone",
        reason: "what the planner cuts, and nothing else",
        edits: &[
            (TakenAway, &["shop profile cutting ends=", "shop profile cutting kerf="]),
            (Tenfold, &["shop profile cutting kerf="]),
            (Tenth, &["shop profile cutting kerf="]),
        ],
    },
    Class {
        name: "known from the survey before",
        reason: "a verification is tied to the survey before it: where nothing moved since, that says how the rail lies",
        edits: &[(TakenAway, &["survey at"])],
    },
    Class {
        name: "nothing of it is proven",
        reason: "where nothing says how far the readings of an instrument scatter, its permissible error alone proves none of them",
        edits: &[(
            TakenAway,
            &["shop gauge local-error=", "shop gauge permissible-error=", "shop wrench permissible-error="],
        )],
    },
    Class {
        name: "read somewhere else, or further on",
        reason: "a force may be read anywhere on the stroke, and a counter stands where it stands: nothing else on record bounds them",
        edits: &[
            (Tenfold, &["service travelled="]),
            (Tenth, &["running-force at", "service travelled="]),
            (TakenAway, &["service travelled="]),
        ],
    },
    Class {
        name: "another carriage",
        reason: "a carriage may ride on fewer blocks that face each other, and two loads may pull at one place",
        edits: &[(TakenAway, &["machine axis carriage block"]), (Doubled, &["machine axis carriage load"])],
    },
    Class {
        name: "asked for once it is needed",
        reason: "what shims do, and how the ball rows cross, is asked for once a place is to be shimmed or a step to be explained",
        edits: &[(TakenAway, &["machine axis rail shims=", "shop profile contact="])],
    },
    Class {
        name: "motion alone",
        reason: "the mass of the examples lies in the line of the drive, so that being accelerated loads no block",
        edits: &[
            (TakenAway, &["machine axis carriage acceleration="]),
            (Tenfold, &["machine axis carriage acceleration="]),
            (Tenth, &["machine axis carriage acceleration="]),
        ],
    },
];

/// The class of a silent edit.
pub(crate) fn class_of(kind: Kind, word: &str) -> Option<&'static Class> {
    CLASSES.iter().find(|class| class.edits.iter().any(|(of, words)| *of == kind && words.contains(&word)))
}
