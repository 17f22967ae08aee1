package variations

// Account is what is owed, in pence. Sums are without VAT unless they say so.
type Account struct {
	Contract  Pence
	Lines     []AccountLine
	Agreed    Pence // the client's share of the variations whose price is agreed
	NotAgreed Pence // of those instructed whose price is not agreed yet
	Revised   Pence // contract and agreed
	VAT       Pence // once, on the revised sum
	TotalDue  Pence // revised and VAT
	Retention Pence // on the revised sum
	Paid      Pence
	Balance   Pence // total due less retention and what was paid
}

// AccountLine is one variation with its price.
type AccountLine struct {
	Variation
	Price Price
}

// Rates are the contract's sum and rates.
type Rates struct {
	Sum            Pence
	VAT, Retention Percent
}

// AccountOf draws up the account. It fails with an error when a sum does not fit.
func AccountOf(r Rates, ledger *Ledger, paid Pence) (Account, error) {
	a := Account{Contract: r.Sum, Paid: paid}
	var sums adder
	for _, v := range ledger.All() {
		p, err := v.Price()
		if err != nil {
			return Account{}, err
		}
		a.Lines = append(a.Lines, AccountLine{v, p})
		switch {
		case v.Off():
		case v.Agreed != 0:
			a.Agreed = sums.add(a.Agreed, p.Client)
		case v.Instructed != 0:
			a.NotAgreed = sums.add(a.NotAgreed, p.Client)
		}
	}
	a.Revised = sums.add(a.Contract, a.Agreed)
	a.VAT = sums.of(r.VAT, a.Revised)
	a.TotalDue = sums.add(a.Revised, a.VAT)
	a.Retention = sums.of(r.Retention, a.Revised)
	a.Balance = sums.add(sums.add(a.TotalDue, -a.Retention), -a.Paid)
	return a, sums.err
}

// adder sums and keeps the first overflow.
type adder struct{ err error }

func (s *adder) keep(p Pence, err error) Pence {
	if err != nil && s.err == nil {
		s.err = err
	}
	return p
}

func (s *adder) add(a, b Pence) Pence { return s.keep(a.Add(b)) }

func (s *adder) of(p Percent, a Pence) Pence { return s.keep(p.Of(a)) }
