//! A job and its stages.

use crate::Stop;
use crate::at_corner;
use book::{
    Book, BookAddress, Document, lists::findings::findings, lists::parts, lists::prices::PriceList,
    lists::proposals::ProposalTable,
};
use catalogue::Catalogue;
use check::{Report, check_facts, check_unfolded};
use circuit::{Corner, Solution};
use draw::list::{Drawing, DrawnFrom};
use explore::{Interrupted, Watch, unwatched};
use facts::{CORNERS, Facts};
use form::{Problem, Sources, Texts};
use kit::scene::Scene;
use kit::sheet::Papers;
use model::{Draft, Drive, Model, Unreadable};
use replay::{Setting, Timeline};
use states::{Asked, Live, Solved, Wiring};
use std::path::Path;
use std::sync::{LazyLock, OnceLock};

/// A harness spec that reads without a mistake, with everything that follows from it.
///
/// Later stages borrow from earlier ones, and the job keeps them all. A job therefore stays where it is from the first
/// call that borrows it for `'j`.
pub struct Job<'j> {
    /// As the spec says it, before sizes are chosen.
    draft: Draft,
    watch: Watch<'j>,
    papers: Papers,
    address: Option<BookAddress>,
    model: OnceLock<Model>,
    wiring: OnceLock<Wiring<'j>>,
    solved: OnceLock<Solved<'j>>,
    facts: OnceLock<Facts<'j>>,
    report: OnceLock<Report>,
    book: OnceLock<Book>,
    proposals: Option<ProposalTable>,
    prices: Option<PriceList>,
}

/// The program's own parts, read once.
static BUILTIN: LazyLock<Result<Catalogue, (Sources, Vec<Problem>)>> = LazyLock::new(Catalogue::builtin);

/// What a cell holds; made and kept if it is empty.
fn once<T>(cell: &OnceLock<T>, make: impl FnOnce() -> Result<T, Stop>) -> Result<&T, Stop> {
    match cell.get() {
        Some(made) => Ok(made),
        None => {
            let made = make()?;
            Ok(cell.get_or_init(|| made))
        }
    }
}

impl<'j> Job<'j> {
    /// Reads the spec at `spec`, and the parts files that it includes, from where `texts` finds them.
    ///
    /// # Errors
    /// Every problem of the texts, in their order.
    pub fn read(texts: &dyn Texts, spec: &Path) -> Result<Job<'j>, Unreadable> {
        let catalogue = BUILTIN
            .as_ref()
            .map_err(|(sources, problems)| Unreadable { sources: sources.clone(), problems: problems.clone() })?;
        Ok(Job {
            draft: model::resolve(spec::read(texts, spec), catalogue)?,
            watch: &unwatched,
            papers: Papers::default(),
            address: None,
            model: OnceLock::new(),
            wiring: OnceLock::new(),
            solved: OnceLock::new(),
            facts: OnceLock::new(),
            report: OnceLock::new(),
            book: OnceLock::new(),
            proposals: None,
            prices: None,
        })
    }

    /// The same job with a watch on its long searches: it learns how far each is, and may end it.
    pub fn watched(self, watch: Watch<'j>) -> Job<'j> {
        Job { watch, ..self }
    }

    /// The same job with the proposals that its spec was chosen from: the book shows them side by side.
    pub fn proposed(self, proposals: ProposalTable) -> Job<'j> {
        Job { proposals: Some(proposals), ..self }
    }

    /// The same job with the shop's prices: the order says what it costs.
    pub fn priced(self, prices: PriceList) -> Job<'j> {
        Job { prices: Some(prices), ..self }
    }

    /// The same job with its documents on other papers than A4 and A3.
    pub fn on(self, papers: Papers) -> Job<'j> {
        Job { papers, ..self }
    }

    /// The same job with the address under which its book is kept: labels get links to it.
    pub fn kept_at(self, address: Option<BookAddress>) -> Job<'j> {
        Job { address, ..self }
    }

    /// The model, with every gauge chosen.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn model(&self) -> Result<&Model, Stop> {
        once(&self.model, || Ok(size::choose_watched(self.draft.clone(), self.watch)?))
    }

    /// The spec's own text with all that the program chose: ratings, cavities, numbers, gauges, colours. Comments stay.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn with_chosen(&self) -> Result<String, Stop> {
        let text = &self.draft.sources.files[0].text;
        Ok(form::with_additions(text, &size::chosen(self.model()?)))
    }

    /// The model alone, with every gauge chosen.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn into_model(mut self) -> Result<Model, Stop> {
        self.model()?;
        self.model.take().ok_or(Stop::Interrupted)
    }

    /// The signal graph and the circuit. Nothing is solved for them.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn wiring(&'j self) -> Result<&'j Wiring<'j>, Stop> {
        once(&self.wiring, || Ok(Wiring::new(self.model()?)))
    }

    /// Every reachable state at the nominal corner.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn solved(&'j self) -> Result<&'j Solved<'j>, Stop> {
        once(&self.solved, || Ok(Solved::explore(self.wiring()?.clone(), self.watch)?))
    }

    /// The same, with the other corners that the facts ask about: two threads have more to do side by side.
    fn solved_at_corners(&'j self) -> Result<&'j Solved<'j>, Stop> {
        once(&self.solved, || Ok(Solved::explore_with(self.wiring()?.clone(), &CORNERS[1..], self.watch)?))
    }

    /// The circuit in the state that a text asks for, as [`states::asked`] reads it.
    ///
    /// # Errors
    /// What is wrong with the text; when the watch ends it.
    pub fn state(&'j self, text: &str) -> Result<Asked, Stop> {
        let explored = || self.solved().map(|solved| solved.exploration.clone()).map_err(|_| Interrupted);
        states::asked(self.wiring()?, explored, text).map_err(|e| Stop::Because(e.to_string()))
    }

    /// What carries current in the state that a text asks for.
    ///
    /// # Errors
    /// As [`Job::state`].
    pub fn live(&'j self, text: &str) -> Result<Live, Stop> {
        Ok(Live::of(self.wiring()?, &self.state(text)?))
    }

    /// A state at another corner: relays that hold themselves may be in another position there, so this is the state with
    /// the same inputs and the nearest memory.
    ///
    /// # Errors
    /// Where the corner has no such state; when the watch ends it.
    pub fn at_corner(&'j self, asked: &Asked, corner: Corner) -> Result<Solution, Stop> {
        at_corner::at_corner(self.wiring()?, asked, corner, self.watch)
    }

    /// A drive, replayed.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn replay(&'j self, drive: &Drive, setting: &Setting) -> Result<Timeline, Stop> {
        Ok(replay::replay(self.wiring()?, drive, setting))
    }

    /// The facts about the solved harness, each computed when it is first asked for.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn facts(&'j self) -> Result<&'j Facts<'j>, Stop> {
        once(&self.facts, || Ok(Facts::new(self.solved()?)))
    }

    /// Every finding.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn report(&'j self) -> Result<&'j Report, Stop> {
        once(&self.report, || {
            self.solved_at_corners()?;
            let facts = self.facts()?;
            facts.prepare(self.watch)?;
            Ok(check_facts(facts, self.watch)?)
        })
    }

    /// Everything that the rules find, without a search for causes; see [`check_unfolded`].
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn unfolded_report(&'j self) -> Result<Report, Stop> {
        self.solved_at_corners()?;
        let facts = self.facts()?;
        facts.prepare(self.watch)?;
        Ok(check_unfolded(facts))
    }

    /// The sheets of a drawing. Only drawings of states need solved states.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn drawing(&'j self, drawing: &Drawing) -> Result<Vec<Scene>, Stop> {
        Ok(match drawing.draw {
            DrawnFrom::Wiring(draw) => draw(self.model()?, self.papers),
            DrawnFrom::States(draw) => draw(self.facts()?, self.papers),
        })
    }

    /// Everything that the documents say.
    ///
    /// # Errors
    /// When the watch ends it.
    pub fn book(&'j self) -> Result<&'j Book, Stop> {
        once(&self.book, || {
            let mut book = book::book(self.facts()?, findings(self.model()?, self.report()?));
            book.proposals = self.proposals.clone();
            book.order_cost = self.prices.as_ref().map(|prices| parts::price(&mut book.order, prices));
            Ok(book)
        })
    }

    /// Every document of the job; with `live`, also the drawings that can show that state.
    ///
    /// # Errors
    /// When the watch ends it; never else in a released program.
    pub fn documents(&'j self, live: Option<&Live>) -> Result<Vec<Document>, Stop> {
        self.solved_at_corners()?;
        let facts = self.facts()?;
        // Drawings ask facts only, so they need not wait for the checks.
        let (drawings, book) = threads::both(|| book::drawings(facts, live, self.papers), || self.book());
        book::documents(facts, book?, &drawings, self.papers, self.address.as_ref()).map_err(Stop::Because)
    }
}
