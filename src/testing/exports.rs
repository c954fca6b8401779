//! A saw and a shop that knows the exported files of some instruments.

pub(crate) const SHOP: &str = r#"shop "Slip 2" {
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.005 plus=outward {
        calibrated "2026-01-12" due="2027-01-12"
    }
    wrench TW-2 kind=indicating least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" }
    profile R20 hole-pitch=60 end-distance=30
    fastener rb thread=M6 class="10.9" into=steel
    readings-file bench record=fasten wrench=TW-2 separator=";" decimal=comma {
        column "Pos" holds=support
        column "Wert" holds=reading unit=N.m
        row "P 01" is=S1
    }
    readings-file numbered record=fasten wrench=TW-2 separator=tab skip=2 header=#false {
        column "3" holds=reading unit=in-lbf
        column "1" holds=support
        column "2" holds=bolt
    }
    readings-file gap record=survey gauge=DI-4 closure=#true dates=day-month-year {
        column station holds=station
        column mm holds=reading
        column day holds=date
    }
    readings-file repeats record=survey repeats=#true {
        column station holds=station
        column mm holds=reading
    }
    readings-file grooves record=inspect gauge=DI-4 encoding=utf-16 {
        column joint holds=joint
        column groove holds=groove
        column before holds=before unit=um
        column after holds=after unit=um
    }
    readings-file latin record=survey encoding=latin-1 {
        column "Größe" holds=reading
        column "Stütze" holds=station
    }
}
"#;

pub(crate) const MACHINE: &str = r#"machine saw {
    axis X {
        rail port profile=R20 rail-bolt=rb {
            segment 1200
            segment 1200
            supports S first=120 pitch=240 count=9 length=80
            joint-support J1 at=1200 length=200
        }
    }
}
"#;
